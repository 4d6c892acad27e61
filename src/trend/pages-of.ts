/** Rows of a table on one page: in build order, the last ones first of all. */
export interface PageOfRows<T> {
  readonly rows: readonly T[];
  readonly page: number;
  readonly pages: number;
  readonly all: number;
}

const MOST = 100;

/** @param page from 1, the one with the last rows. One that there is not stands for the one nearest to it. */
export function pageOf<T>(all: readonly T[], page: number): PageOfRows<T> {
  const pages = Math.max(1, Math.ceil(all.length / MOST));
  const shown = Math.min(page, pages);
  const end = all.length - (shown - 1) * MOST;
  return { rows: all.slice(Math.max(0, end - MOST), end), page: shown, pages, all: all.length };
}
