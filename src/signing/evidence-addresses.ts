/** Addresses of the pages where the evidence is that somebody signs on. */

export const traceOf = (key: string): string => `/trace?id=${encodeURIComponent(key)}`;

/** @param anchor of the section of the page; empty for the page. */
export const lotPage = (lot: string, anchor: string): string =>
  `/lots/${encodeURIComponent(lot)}${anchor === '' ? '' : `#${anchor}`}`;
