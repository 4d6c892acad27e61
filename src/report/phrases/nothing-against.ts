/** What is said of an implant against which nothing stands. */
export const NOTHING_AGAINST = {
  doesNotConform: 'Its values do not let it conform.',
  others: (checks: readonly string[]) => `Nothing stands against it; against other implants: ${checks.join('; ')}.`,
  all: 'Every planned value and check conforms.',
  allDue: 'Every check and every planned value that is due by now conforms.',
};
