/** What the commands on accounts print around the facts. */
export const PEOPLE_LINES = {
  open: (address: string) => `Open this once, at the address of the service: ${address}`,
  runsOut: (at: string) => `It runs out at ${at}; a newer link, or a start of the service, takes its place.`,
  recoverRunsOut: (at: string) =>
    `It runs out at ${at}. The old password works until it is used. The first page tells everybody that it was made.`,
  nobody: 'Nobody has an account yet. Make the first: lotwright people invite',
  closed: 'closed',
  noRole: 'no role',
};
