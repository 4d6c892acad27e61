/** What somebody is told when what lay before them is no longer as they saw it, so that nothing was signed. */

/** The rest stands on the page. */
const MOST_TOLD = 3;

/**
 * What changed since somebody looked, and what to do about it.
 * @param what that changed: `lot file of L-1`.
 * @param how it changed, each without a full stop; empty where that is not known.
 */
export function changedSinceText(what: string, how: readonly string[] = []): string {
  const told = how.slice(0, MOST_TOLD).map((text) => text.replace(/\.$/, ''));
  const more = how.length > MOST_TOLD ? [`and ${how.length - MOST_TOLD} more`] : [];
  const news = told.length > 0 ? `. New is: ${[...told, ...more].join('; ')}` : '';
  return `${what} has changed since you looked at it; look again before signing${news}`;
}

/** What the request did not name among what its sender saw. */
export const notSeenText = (what: string): string =>
  `${what} is not named among what you saw; look at it before signing`;

/** What lies beside a lot file when it is signed. */
export const LIES_BESIDE = {
  assessment: (lot: string) => `assessment of lot ${lot}`,
  summary: (lot: string) => `first page of lot ${lot}`,
  'review list': (lot: string) => `list of what was corrected, refused or entered late in lot ${lot}`,
  course: (lot: string) => `what befell lot ${lot} before`,
} as const;

export const reviewListNow = (items: number): string => `it has ${items} ${items === 1 ? 'line' : 'lines'} now`;

export const summaryNow = (items: number): string => `it has ${items} ${items === 1 ? 'exception' : 'exceptions'} now`;

export const SAME_VERDICTS = 'the verdicts are the same';
