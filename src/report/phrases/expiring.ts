/** What ends soon: the first page names it. */
export const EXPIRING = {
  calibration: (instrument: string) => `calibration of ${instrument}`,
  qualification: (person: string, operation: string) => `qualification of ${person} for ${operation}`,
  processValidation: (title: string) => `process validation ${title}`,
};
