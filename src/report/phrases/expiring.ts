/** What ends soon: the first page names it. */
export const EXPIRING = {
  calibration: (instrument: string) => `calibration of ${instrument}`,
  qualification: (person: string, operation: string) => `qualification of ${person} for ${operation}`,
  upkeep: (what: string, machine: string) => `${what} of ${machine}`,
  permission: (title: string) => `permission ${title}`,
  processValidation: (title: string) => `process validation ${title}`,
};
