/** A moment for storing: UTC, and beside it the offset from UTC that the place had. */
export interface Stamp {
  readonly utc: string;
  readonly offset: string;
}

/** The calendar day of a moment where it happened: `2031-03-04`. */
export function localDay({ utc, offset }: Stamp): string {
  const [hours, minutes] = offset.slice(1).split(':').map(Number);
  const sign = offset.startsWith('-') ? -1 : 1;
  const shifted = Date.parse(utc) + sign * (hours! * 60 + minutes!) * 60_000;
  return new Date(shifted).toISOString().slice(0, 10);
}
