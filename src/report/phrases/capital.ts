/** A text with a capital at its start. */
export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** A sentence as a part of another one. */
export const beginningSmall = (says: string): string => says.replace(/^[A-Z](?=[a-z])/, (first) => first.toLowerCase());
