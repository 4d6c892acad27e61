/** So many things of a kind are read aloud; a table beside the picture has the others. */
const MOST = 40;

/** `a, b and 3 more`; a picture that is read aloud says its numbers, and does not go on for ever. */
export function listed(items: readonly string[]): string {
  const more = items.length - MOST;
  return `${items.slice(0, MOST).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}

/** The same as sentences of their own: `Limits: a, b.`; nothing for nothing. */
export const told = (name: string, items: readonly string[]): string =>
  items.length === 0 ? '' : ` ${name}: ${listed(items)}.`;
