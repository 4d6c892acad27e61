/** What is counted as an exception on page 1. */
export const EXCEPTIONS = {
  reject: 'log findings at reject level',
  action: 'log findings at action level',
  alert: 'log findings noted as alert',
  corrected: 'corrected results',
  late: 'results entered late',
  severalForCase: 'cases with more than one implant',
  repeated: 'repeated or replaced tests',
  invalid: 'invalid tests',
  concessions: 'concessions',
  openTests: 'tests open after release',
};

/** What is said of an implant against which nothing stands. */
export const NOTHING_AGAINST = {
  doesNotConform: 'Its values do not let it conform.',
  others: (checks: readonly string[]) => `Nothing stands against it; against other implants: ${checks.join('; ')}.`,
  all: 'Every planned value and check conforms.',
  allDue: 'Every check and every planned value that is due by now conforms.',
};
