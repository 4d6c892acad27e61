import { kindTitle } from '../../kinds/catalogue.js';

/** What things are called where they are signed and where they wait for it. */
export const THINGS = {
  document: ({ kind, key, revision }: { readonly kind: string; readonly key: string; readonly revision: number }) =>
    `${kindTitle(kind)} ${key} revision ${revision}`,
  receipt: (key: string) => `receipt ${key}`,
  receiptDecided: (key: string, status: string) => `receipt ${key}, ${status}`,
  certificate: (number: string, receipt: string) => `certificate ${number} of receipt ${receipt}`,
  certificateOf: (receipt: string) => `certificate of receipt ${receipt}`,
  qualification: (name: string, code: string, operation: string) =>
    `qualification of ${name} (${code}) for ${operation}`,
  training: (name: string, operation: string) => `${name}: ${operation}`,
  resultSheet: (lot: string, file: string) => `results of lot ${lot} in ${file}`,
  measured: (analyst: string, file: string) => `results of ${analyst} in ${file}`,
  typed: (typists: readonly string[], file: string) => `values typed by ${typists.join(', ')} in ${file}`,
  logFinding: (finding: string, build: string) => `log finding ${finding} of ${build}`,
  logFindings: (count: number, finding: string, build: string) =>
    `${count} log findings ${finding} of ${build}, all alike`,
  checkFinding: (finding: string, lot: string) => `finding ${finding} of a release check of lot ${lot}`,
  lotFile: (lot: string) => `lot file of ${lot}`,
  lot: (lot: string) => `lot ${lot}`,
  units: (serials: readonly string[]) => `units ${serials.join(', ')}`,
  unitsHeldBack: (serials: readonly string[]) => `units ${serials.join(', ')}, which may not be released`,
} as const;

/** Why nobody can sign a thing as it is. */
export const NOT_TO_SIGN = {
  quarantine: (receipt: string) =>
    `receipt ${receipt} is in quarantine: take it in again with the status accepted or rejected`,
  oneOfMany: (count: number, group: string) => `it is one of ${count} that are alike and decided together, as ${group}`,
  noDecisionLifts: (clearedBy: string) => `no decision lifts this finding. ${clearedBy}`,
  alert: 'an alert is noted and needs no decision',
  factsSince: 'Facts came in since this lot file was frozen.',
} as const;
