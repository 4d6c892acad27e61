/** What ends within so many days is told beforehand. */
export const SOON_DAYS = 90;

const DAY_MS = 86_400_000;

/** @param day `2031-05-04`. */
export const daysAfter = (day: string, days: number): string =>
  new Date(Date.parse(day) + days * DAY_MS).toISOString().slice(0, 10);
