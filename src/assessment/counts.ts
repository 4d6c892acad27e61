import type { Facts } from '../dossier/facts.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { fateOf, type Gone } from '../kinds/lot-after-build.js';
import type { LotNow } from '../kinds/split-lot.js';

/** What became of implants, and of labels. */
export type Fate =
  | 'destructively tested'
  | 'retained'
  | 'scrapped'
  | 'kept as stock part'
  | 'moved'
  | 'to decide'
  | 'released for sterilisation'
  | 'released for distribution'
  | 'rejected'
  | 'in progress'
  | 'used'
  | 'destroyed';

/** One line of a count that must come out even: what there was, and what became of it. */
export interface CountLine {
  readonly what: 'made' | 'printed';
  readonly total: number;
  /** Implants are named by their serials; labels are counted only. */
  readonly parts: readonly { readonly fate: Fate; readonly count: number; readonly serials?: readonly string[] }[];
  readonly sum: number;
}

/** Implants of a lot that are released, each for the last step that stands, and rejected, by what people signed. */
export interface DecidedUnits {
  readonly released: Readonly<Record<ReleaseStep, readonly string[]>>;
  readonly rejected: readonly string[];
}

/** Serials that a line counts more than once, with what became of each by its parts: nobody can tell which is true. */
export const countedTwice = ({ parts }: CountLine): { readonly serial: string; readonly fates: readonly Fate[] }[] => {
  const all = new Set(parts.flatMap(({ serials = [] }) => serials));
  return [...all]
    .map((serial) => ({
      serial,
      fates: parts.filter(({ serials = [] }) => serials.includes(serial)).map(({ fate }) => fate),
    }))
    .filter(({ fates }) => fates.length > 1);
};

const line = (what: CountLine['what'], total: number, parts: CountLine['parts']): CountLine => ({
  what,
  total,
  parts,
  sum: parts.reduce((sum, { count }) => sum + count, 0),
});

type Counted = Pick<LotNow, 'builds' | 'implants' | 'fates' | 'moved'>;

/** Serials of the implants that were built: a build that is only planned has made none yet. */
const madeIn = ({ builds, implants }: Counted): string[] => {
  const planned = new Set(builds.filter(({ state }) => state === 'planned').map(({ build }) => build));
  return implants.filter(({ build }) => !planned.has(build)).map(({ serial }) => serial);
};

const GONE: readonly (readonly [Gone['as'], Fate])[] = [
  ['tested', 'destructively tested'],
  ['retained', 'retained'],
  ['scrapped', 'scrapped'],
  ['moved', 'moved'],
];

/** Told only where there is one: most lots have none. */
const RARE: readonly (readonly [Gone['as'], Fate])[] = [['stock part', 'kept as stock part']];

const counted = (fate: Fate, serials: readonly string[]) => ({ fate, count: serials.length, serials });

function goneParts(lot: Counted, made: readonly string[]): CountLine['parts'] {
  const of = ([as, fate]: (typeof GONE)[number]) =>
    counted(
      fate,
      made.filter((serial) => fateOf(lot, serial)?.as === as),
    );
  return [...GONE.map(of), ...RARE.map(of).filter(({ count }) => count > 0)];
}

/** The implants that were made, and which of them are there to be decided on. No decision changes it. */
export function implantCount(lot: Counted): CountLine {
  const made = madeIn(lot);
  const there = made.filter((serial) => fateOf(lot, serial) === undefined);
  return line('made', made.length, [...goneParts(lot, made), counted('to decide', there)]);
}

/**
 * What became of the implants. One that was rejected and then scrapped counts as scrapped. It does not add up when one was
 * released that is said to be tested, retained or scrapped.
 */
export function implantFates(lot: Counted, { released, rejected }: DecidedUnits): CountLine {
  const made = madeIn(lot);
  const there = made.filter((serial) => fateOf(lot, serial) === undefined);
  const all = [...released.sterilisation, ...released.distribution, ...rejected];
  return line('made', made.length, [
    // ISO 13485:2016 7.5.1 counts what was approved for distribution, which a release for sterilisation is not.
    counted('released for sterilisation', released.sterilisation),
    counted('released for distribution', released.distribution),
    counted(
      'rejected',
      there.filter((serial) => rejected.includes(serial)),
    ),
    counted(
      'in progress',
      there.filter((serial) => !all.includes(serial)),
    ),
    ...goneParts(lot, made),
  ]);
}

export const labelCount = ({ printed, used, destroyed }: { printed: number; used: number; destroyed: number }) =>
  line('printed', printed, [
    { fate: 'used', count: used },
    { fate: 'destroyed', count: destroyed },
  ]);

/** What became of implants and of labels; null for labels that the lot file does not count. */
export function countsOf(facts: Facts, decided: DecidedUnits): { implants: CountLine; labels: CountLine | null } {
  const { body } = facts.lot;
  return { implants: implantFates(body, decided), labels: body.labels ? labelCount(body.labels) : null };
}
