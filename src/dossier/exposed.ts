import { z } from 'zod';

/** How a specimen lay in a medium, as far as values of one stand together or not (docs/trade.md 8.4). */
export const ExposedAs = z.strictObject({
  medium: z.string(),
  mediumRevision: z.int(),
  hours: z.int(),
  face: z.string(),
  /** Absent where it was not sterilised before. */
  sterilised: z.literal(true).optional(),
  /** Past the specimen, as written; absent for one at rest. */
  flowMlPerMin: z.string().optional(),
  /** Above the medium, where it is another than that of the medium. */
  gas: z.string().optional(),
  /** To a tenth. */
  temperatureC: z.number(),
});
export type ExposedAs = z.infer<typeof ExposedAs>;

/** Durations that differ by less than this part of the longer one are one duration, as for loss over time. */
const SAME_DURATION = 0.02;

/** In hours, or in any one unit. */
export const isSameDuration = (a: number, b: number): boolean => Math.abs(a - b) <= SAME_DURATION * Math.max(a, b);

const HOURS_OF = { h: 1, d: 24, wk: 168 } as const;

/** A duration as plans name it: `336 h`, `14 d`, `2 wk`. @returns hours; undefined for what is none. */
export function hoursOfText(text: string): number | undefined {
  const [, number, unit] = /^(\d+(?:\.\d+)?) ?(h|d|wk)$/.exec(text.trim()) ?? [];
  return number === undefined ? undefined : Number(number) * HOURS_OF[unit as keyof typeof HOURS_OF];
}

/** Both ends of 37 ± 1 °C (docs/trade.md 8.4). */
const MOST_APART_C = 2;

/** By which method a specimen was exposed, and how it lay in its medium. */
export interface ExposedBy {
  readonly method: string;
  /** Absent where no exposure is on record. */
  readonly exposed?: ExposedAs | undefined;
}

export interface ExposedApart {
  readonly what: 'medium' | 'protocol' | 'duration' | 'face' | 'sterilisation' | 'flow' | 'gas' | 'temperature';
  readonly a: string;
  readonly b: string;
}

/** As `exposedApart`, of any two of several: the shortest and the coldest meet all others, so that their order tells nothing. */
export function anyExposedApart(all: readonly ExposedBy[]): ExposedApart | undefined {
  for (const by of ['hours', 'temperatureC'] as const) {
    const [least, ...more] = [...all].sort((a, b) => (a.exposed?.[by] ?? 0) - (b.exposed?.[by] ?? 0));
    for (const one of more) {
      const found = exposedApart(least!, one);
      if (found) return found;
    }
  }
  return undefined;
}

/** The first thing in which two differ so that their values do not stand together, and how each has it. */
export function exposedApart(
  { exposed: a, ...first }: ExposedBy,
  { exposed: b, ...second }: ExposedBy,
): ExposedApart | undefined {
  const medium = (one: ExposedAs | undefined) =>
    one === undefined ? 'no medium on record' : `${one.medium} revision ${one.mediumRevision}`;
  if (medium(a) !== medium(b)) return { what: 'medium', a: medium(a), b: medium(b) };
  if (a === undefined || b === undefined) return undefined;
  // Which revisions of one method are one thing, the approved pool says.
  if (first.method !== second.method) return { what: 'protocol', a: first.method, b: second.method };
  if (!isSameDuration(a.hours, b.hours)) return { what: 'duration', a: `${a.hours} h`, b: `${b.hours} h` };
  if (a.face !== b.face) return { what: 'face', a: a.face, b: b.face };
  for (const [what, of] of [
    ['sterilisation', sterilisedText],
    ['flow', flowText],
    ['gas', gasText],
  ] as const) {
    if (of(a) !== of(b)) return { what, a: of(a), b: of(b) };
  }
  if (isAsWarm(a.temperatureC, b.temperatureC)) return undefined;
  return { what: 'temperature', a: `${a.temperatureC} °C`, b: `${b.temperatureC} °C` };
}

export const isAsWarm = (a: number, b: number): boolean => Math.abs(a - b) <= MOST_APART_C + 1e-9;

/** Whether a bath belongs to a pool about a temperature, such as 37 ± 1 °C: any two that do are as warm as each other. */
export const isWarmAbout = (pool: number, bath: number): boolean => Math.abs(bath - pool) <= MOST_APART_C / 2 + 1e-9;

export const sterilisedText = ({ sterilised }: Pick<ExposedAs, 'sterilised'>): string =>
  sterilised ? 'sterilised before' : 'not sterilised before';

export const flowText = ({ flowMlPerMin }: Pick<ExposedAs, 'flowMlPerMin'>): string =>
  flowMlPerMin === undefined ? 'at rest' : `${Number(flowMlPerMin)} mL/min`;

export const gasText = ({ gas }: Pick<ExposedAs, 'gas'>): string => gas ?? 'none named';
