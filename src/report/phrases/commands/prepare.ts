/** What the command that prepares lots prints around the facts. */
export const PREPARE_LINES = {
  written: (lot: string, code: string, folder: string) => `Lot ${lot} for case ${code} lies ready in ${folder}:`,
  next: 'Fill in what is empty, then take the folder in with lotwright intake.',
};
