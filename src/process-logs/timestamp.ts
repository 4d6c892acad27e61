/**
 * Times of a log, as whole microseconds since 1970 in UTC: whole numbers, so that sums of durations are exact. A
 * double holds them exactly until the year 2255.
 */

const TIMESTAMP = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)(?:\.(\d+))?(Z|[+-]\d\d:\d\d)$/;
const US_PER_SECOND = 1_000_000;
const US_PER_MINUTE = 60 * US_PER_SECOND;
/** UTC+14:00 and UTC−12:00 are the widest offsets in use; 14 hours covers both. */
const WIDEST_OFFSET_MINUTES = 14 * 60;

/**
 * Reads an RFC 3339 date and time with an offset. What is finer than a microsecond is cut off. The date must exist in the
 * calendar (`Date.parse` takes 30 February for 2 March). A leap second is refused: the time scale used here has none.
 * @returns microseconds since 1970-01-01T00:00:00Z, or undefined when the text is anything else.
 */
export function readTimestampUs(text: string): number | undefined {
  const match = TIMESTAMP.exec(text);
  if (match === null) return undefined;
  const [year, month, day, hour, minute, second] = match.slice(1, 7).map(Number) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  if (hour > 23 || minute > 59 || second > 59) return undefined;
  const midnight = new Date(0);
  midnight.setUTCFullYear(year, month - 1, day);
  if (midnight.getUTCMonth() !== month - 1 || midnight.getUTCDate() !== day) return undefined;
  const offsetMinutes = readOffsetMinutes(match[8]!);
  if (offsetMinutes === undefined) return undefined;
  const fractionUs = Number((match[7] ?? '').slice(0, 6).padEnd(6, '0'));
  const minutes = midnight.getTime() / 60_000 + hour * 60 + minute - offsetMinutes;
  return minutes * US_PER_MINUTE + second * US_PER_SECOND + fractionUs;
}

/** ISO text in UTC with three decimals, or six when the microseconds need them. */
export function timestampText(timeUs: number): string {
  const rest = ((timeUs % 1000) + 1000) % 1000;
  const text = new Date((timeUs - rest) / 1000).toISOString();
  return rest === 0 ? text : `${text.slice(0, -1)}${String(rest).padStart(3, '0')}Z`;
}

function readOffsetMinutes(text: string): number | undefined {
  if (text === 'Z') return 0;
  const hours = Number(text.slice(1, 3));
  const minutes = Number(text.slice(4));
  const total = hours * 60 + minutes;
  if (minutes > 59 || total > WIDEST_OFFSET_MINUTES) return undefined;
  return text.startsWith('-') ? -total : total;
}
