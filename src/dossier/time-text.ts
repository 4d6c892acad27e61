const MOMENT = /^\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:\d\d)$/;

/**
 * A moment as people read it, in UTC wherever it was noted, so that all that stands on a page can be compared:
 * `2031-03-04 08:00 UTC`; seconds only where they are not zero. Another text comes back as it is.
 */
export function timeText(moment: string): string {
  const at = MOMENT.test(moment) ? Date.parse(moment) : Number.NaN;
  if (Number.isNaN(at)) return moment;
  const utc = new Date(at).toISOString();
  const second = utc.slice(17, 19);
  return `${utc.slice(0, 10)} ${utc.slice(11, 16)}${second === '00' ? '' : `:${second}`} UTC`;
}

/** From one moment to another, the day once where it is the same: `2031-03-04 08:00 to 12:00 UTC`. */
export function spanText(from: string, to: string): string {
  const [start, end] = [timeText(from), timeText(to)];
  const sameDay = start.slice(0, 11) === end.slice(0, 11) && start.endsWith(' UTC') && end.endsWith(' UTC');
  return sameDay ? `${start.slice(0, -4)} to ${end.slice(11)}` : `${start} to ${end}`;
}
