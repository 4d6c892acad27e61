import { readTimestampUs } from '../timestamp.js';
import { LocalTime } from './local-time.js';

const TOKENS: Readonly<Record<string, string>> = {
  YYYY: '(?<year>\\d{4})',
  MM: '(?<month>\\d\\d)',
  DD: '(?<day>\\d\\d)',
  HH: '(?<hour>\\d\\d)',
  mm: '(?<minute>\\d\\d)',
  ss: '(?<second>\\d\\d)',
  S: '(?<fraction>\\d{1,9})',
};

/** Reads the times of a logger in the form that its channel map declares. */
export class LoggerClock {
  private readonly pattern: RegExp | null;
  private readonly local: LocalTime | null;
  private latestUs = Number.NaN;

  /**
   * @param gapUs a row so long behind the one before it follows it; the hour that comes twice is told apart by that.
   */
  constructor(
    private readonly form: string,
    zone: string | undefined,
    private readonly gapUs: number,
  ) {
    this.local = zone === undefined ? null : new LocalTime(zone);
    this.pattern = this.local === null ? null : patternOf(form);
  }

  /** @returns microseconds since 1970, or undefined for what is no time of this form, or no one moment. */
  read(text: string): number | undefined {
    const timeUs = this.moment(text);
    if (timeUs !== undefined) this.latestUs = timeUs;
    return timeUs;
  }

  private moment(text: string): number | undefined {
    if (this.form === 'ISO') return readTimestampUs(text);
    if (this.form === 'unix s' || this.form === 'unix ms') return unixUs(text, this.form === 'unix s' ? 6 : 3);
    const parts = this.pattern!.exec(text)?.groups;
    if (parts === undefined) return undefined;
    const { year, month, day, hour, minute, second, fraction } = parts;
    const wallUs = readTimestampUs(
      `${year}-${month}-${day}T${hour}:${minute}:${second}${fraction ? `.${fraction}` : ''}Z`,
    );
    if (wallUs === undefined) return undefined;
    const moments = this.local!.moments(wallUs);
    if (moments.length < 2) return moments[0];
    // An hour that comes twice: the one that goes on where the row before stands, and only when it is one alone.
    const following = moments.filter((moment) => moment >= this.latestUs && moment <= this.latestUs + this.gapUs);
    return following.length === 1 ? following[0] : undefined;
  }
}

function patternOf(form: string): RegExp {
  const source = form.replace(/YYYY|MM|DD|HH|mm|ss|S|[^A-Za-z0-9]|[A-Za-z0-9]/g, (part) => {
    return TOKENS[part] ?? part.replace(/[\\^$.*+?()[\]{}|/]/, '\\$&');
  });
  return new RegExp(`^${source}$`);
}

/** @param digits those of a microsecond behind the point. */
function unixUs(text: string, digits: number): number | undefined {
  const match = /^(\d{1,14})(?:\.(\d+))?$/.exec(text);
  if (match === null) return undefined;
  const fraction = (match[2] ?? '').slice(0, digits).padEnd(digits, '0');
  const us = Number(match[1]! + fraction);
  return Number.isSafeInteger(us) ? us : undefined;
}
