const US_PER_MINUTE = 60_000_000;
const QUARTER_US = 15 * US_PER_MINUTE;
const DAY_US = 96 * QUARTER_US;
const MOST_KEPT = 10_000;

/** The clock of a place: tells which moments its wall clock may mean. */
export class LocalTime {
  private readonly offsetOf: (utcUs: number) => number;
  /** Offsets by quarter of an hour of the wall clock: a clock is changed at no other time. */
  private readonly known = new Map<number, readonly number[]>();

  /** @param zone `+01:00` or an IANA name. */
  constructor(zone: string) {
    const fixed = /^([+-])(\d\d):(\d\d)$/.exec(zone);
    if (fixed === null) {
      this.offsetOf = namedOffset(zone);
      return;
    }
    const minutes = Number(fixed[2]) * 60 + Number(fixed[3]);
    this.offsetOf = () => (fixed[1] === '-' ? -minutes : minutes) * US_PER_MINUTE;
  }

  /**
   * @param wallUs the time of the wall clock, as if it were UTC, in microseconds since 1970.
   * @returns the moments, earliest first: two in the hour that comes twice, none in the one that is left out.
   */
  moments(wallUs: number): readonly number[] {
    const quarter = Math.floor(wallUs / QUARTER_US);
    let offsets = this.known.get(quarter);
    if (offsets === undefined) {
      const start = quarter * QUARTER_US;
      const near = new Set([this.offsetOf(start - DAY_US), this.offsetOf(start + DAY_US)]);
      offsets = [...near].filter((offset) => this.offsetOf(start - offset) === offset).sort((a, b) => b - a);
      if (this.known.size < MOST_KEPT) this.known.set(quarter, offsets);
    }
    return offsets.map((offset) => wallUs - offset);
  }
}

function namedOffset(zone: string): (utcUs: number) => number {
  const format = new Intl.DateTimeFormat('en-US', { timeZone: zone, timeZoneName: 'longOffset' });
  return (utcUs) => {
    const name = format.formatToParts(utcUs / 1000).find(({ type }) => type === 'timeZoneName')!.value;
    const [, sign, hours, minutes] = /GMT(?:([+-])(\d\d):(\d\d))?/.exec(name)!;
    if (sign === undefined) return 0;
    return (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes)) * US_PER_MINUTE;
  };
}
