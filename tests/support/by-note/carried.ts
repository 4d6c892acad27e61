import { createHash } from 'node:crypto';
import { lotNow } from './moves.js';

/** JSON as the note describes it; nothing here knows more of it. */
// biome-ignore lint/suspicious/noExplicitAny: a stranger has the note and no types
export type Json = any;

/** Canonical JSON (RFC 8785) of what has been read from JSON. */
export function canonical(value: Json): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  const names = Object.keys(value).sort();
  return `{${names.map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(',')}}`;
}

export const sha256 = (bytes: string | Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
export const digest = (value: Json): string => sha256(canonical(value));

/** A line of a table by its columns, with its number from 1. */
export type Row = Readonly<Record<string, string>> & { readonly row: string };

/** The attachments of a record, by name, as the note says to read them. */
export class Carried {
  readonly dossier: Json;
  readonly assessment: Json;
  readonly enclosure: Json;
  /** Documents of the lot and of its cases, each once. */
  readonly documents: readonly Json[];
  readonly cases: readonly Json[];
  /** All rows, corrected ones too. */
  readonly rows: readonly Row[];
  readonly current: readonly Row[];
  readonly summaries: readonly Row[];
  /** Statements on facts of the lot, those of its cases included. */
  readonly statements: readonly Json[];
  readonly lot: Json;
  readonly specification: Json;
  readonly implants: readonly Json[];
  readonly coupons: readonly Json[];
  readonly builds: readonly Json[];
  readonly serials: readonly string[];

  constructor(readonly files: ReadonlyMap<string, Uint8Array>) {
    this.dossier = this.json('dossier.json');
    this.assessment = this.json('assessment.json');
    this.enclosure = this.json('enclosure.json');
    this.cases = [...files.keys()].filter((name) => /^case-.*\.json$/.test(name)).map((name) => this.json(name));
    const all = [this.dossier, ...this.cases];
    const once = (items: readonly Json[], of: (item: Json) => string) => [
      ...new Map(items.map((item) => [of(item), item])).values(),
    ];
    this.documents = once(
      all.flatMap(({ pinned }) => pinned),
      ({ kind, key, revision }) => `${kind} ${key} ${revision}`,
    );
    this.statements = once(
      all.flatMap(({ signatures }) => signatures),
      (signed) => `${signed.digest} ${signed.signature}`,
    ).map(({ statement }) => statement);
    this.rows = this.table('results.csv');
    this.current = this.rows.filter(({ status }) => status === 'current');
    this.summaries = this.table('log-summaries.csv');
    this.lot = lotNow(this.dossier);
    const { specification, revision } = this.lot.specification;
    this.specification = this.pinned('specification', specification, revision);
    this.implants = this.lot.implants ?? [];
    this.coupons = this.lot.coupons ?? [];
    this.builds = this.lot.builds;
    this.serials = this.implants.map(({ serial }) => serial);
  }

  has(name: string): boolean {
    return this.files.has(name);
  }

  text(name: string): string {
    return Buffer.from(this.files.get(name) ?? []).toString('utf8');
  }

  json(name: string): Json {
    return this.has(name) ? JSON.parse(this.text(name)) : undefined;
  }

  /** A document of the lot file. Without a revision the one that there is. */
  pinned(kind: string, key: string, revision?: number): Json {
    return this.dossier.pinned.find(
      (item: Json) =>
        item.kind === kind && item.key === key && (revision === undefined || item.revision === Number(revision)),
    );
  }

  allPinned(kind: string): readonly Json[] {
    return this.dossier.pinned.filter((item: Json) => item.kind === kind);
  }

  signed(covered: string | undefined, meaning: string): Json[] {
    return this.statements.filter(
      (one) => one.meaning === meaning && one.subjects.some((subject: Json) => subject.digest === covered),
    );
  }

  private table(name: string): Row[] {
    const [header, ...lines] = recordsOf(this.text(name));
    return lines.map((fields, index) => ({
      ...Object.fromEntries(header!.map((column, place) => [column, fields[place]!])),
      row: String(index + 1),
    })) as Row[];
  }
}

/** CSV by RFC 4180. */
function recordsOf(text: string): string[][] {
  const records: string[][] = [];
  let record: string[] = [];
  for (const [, quoted, plain, end] of text.matchAll(/(?:"((?:[^"]|"")*)"|([^",\n]*))(,|\n)/g)) {
    record.push(quoted === undefined ? plain! : quoted.replaceAll('""', '"'));
    if (end === ',') continue;
    records.push(record);
    record = [];
  }
  return records;
}

export const moment = (text: string): number => Date.parse(text);
export const day = (text: string): string => text.slice(0, 10);
export const unique = <T>(items: Iterable<T>): T[] => [...new Set(items)];
export function grouped<T>(items: readonly T[], keyOf: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) groups.set(keyOf(item), [...(groups.get(keyOf(item)) ?? []), item]);
  return groups;
}

export const digits = (value: number, many: number): number => Number(value.toPrecision(many));

/** Three significant numbers of a decimal text: its digits, and how many of them stand behind the point. */
export function decimal(text: string): { readonly whole: bigint; readonly places: number } {
  const [, sign, before, after = '', power = '0'] = /^([+-]?)(\d*)\.?(\d*)(?:[eE]([+-]?\d+))?$/.exec(text)!;
  const places = after.length - Number(power);
  const whole = BigInt(`${before}${after}`) * (sign === '-' ? -1n : 1n);
  return places >= 0 ? { whole, places } : { whole: whole * 10n ** BigInt(-places), places: 0 };
}

const scaled = ({ whole, places }: ReturnType<typeof decimal>, to: number): bigint =>
  whole * 10n ** BigInt(to - places);

export function compare(a: string, b: string): number {
  const [one, other] = [decimal(a), decimal(b)];
  const places = Math.max(one.places, other.places);
  const [left, right] = [scaled(one, places), scaled(other, places)];
  return left < right ? -1 : left > right ? 1 : 0;
}

/** To the nearest multiple of an interval, half to even. */
export function rounded(text: string, interval: string): string {
  const [value, step] = [decimal(text), decimal(interval)];
  const places = Math.max(value.places, step.places);
  const [number, by] = [scaled(value, places), scaled(step, places)];
  const size = number < 0n ? -number : number;
  const [times, rest] = [size / by, size % by];
  const up = 2n * rest > by || (2n * rest === by && times % 2n === 1n) ? 1n : 0n;
  return textOf({ whole: (number < 0n ? -1n : 1n) * (times + up) * by, places });
}

export function textOf({ whole, places }: ReturnType<typeof decimal>): string {
  const figures = (whole < 0n ? -whole : whole).toString().padStart(places + 1, '0');
  const at = figures.length - places;
  return `${whole < 0n ? '-' : ''}${figures.slice(0, at)}${places > 0 ? `.${figures.slice(at)}` : ''}`;
}

/** The last place to which a text is written. */
export function placeOf(text: string): string {
  const { places } = decimal(text);
  return places === 0 ? '1' : textOf({ whole: 1n, places });
}

/** What units of UCUM measure, and how much of it, as far as lots of the tests need. */
const UNITS: Readonly<Record<string, readonly [of: string, factor: number]>> = {
  '%': ['share', 1e-2],
  '[ppm]': ['share', 1e-6],
  '[ppb]': ['share', 1e-9],
  W: ['power', 1],
  kW: ['power', 1e3],
  mm: ['length', 1e-3],
  um: ['length', 1e-6],
  kPa: ['pressure', 1e3],
  MPa: ['pressure', 1e6],
  GPa: ['pressure', 1e9],
};

/** A number in another unit; undefined for a unit of another sort. */
export function converted(text: string, from: string, to: string): string | undefined {
  if (from === to) return text;
  const [one, other] = [from, to].map((unit) => UNITS[unit.replace(/\{.*\}/, '')]);
  if (one === undefined || other === undefined || one[0] !== other[0]) return undefined;
  return String(digits((Number(text) * one[1]) / other[1], 12));
}
