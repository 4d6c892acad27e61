/** Parts of a folder that an intake stores, each whole or not at all. */
export const STORED_PARTS = {
  site: 'the documents of the site',
  lot: (lot: string) => `lot ${lot}`,
} as const;

/** What somebody is told of an error that came when parts of a folder were stored already. */
export const afterStoredText = (error: string, stored: readonly string[]): string =>
  `${error}. Before that was stored: ${stored.join(', ')}. Nothing else of the folder was: take it in again, what is stored is not stored twice`;
