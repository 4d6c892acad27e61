/** What is said where an assessment stands that an earlier version made. */
export const EARLIER_VERSION =
  'Assessed by an earlier version of the program: it waits to be assessed again by this one.';

/** How many lots wait for that; empty for none. */
export function awaitingText(lots: number): string {
  if (lots === 0) return '';
  const [who, show] = lots === 1 ? ['1 lot waits', 'it shows'] : [`${lots} lots wait`, 'they show'];
  return `${who} to be assessed again by this version of the program: until then ${show} what an earlier version said.`;
}
