import { z } from 'zod';

/** How a specimen lay in a medium, as far as values of one stand together or not (docs/trade.md 8.4). */
export const ExposedAs = z.strictObject({
  medium: z.string(),
  mediumRevision: z.int(),
  hours: z.int(),
  face: z.string(),
  /** Absent where it was not sterilised before. */
  sterilised: z.literal(true).optional(),
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

/** As `exposedApart`, of any two of several: the shortest meets the longest, so that their order tells nothing. */
export function anyExposedApart(all: readonly (ExposedAs | undefined)[]): ReturnType<typeof exposedApart> {
  const byHours = [...all].sort((a, b) => (a?.hours ?? 0) - (b?.hours ?? 0));
  for (const one of byHours.slice(1)) {
    const found = exposedApart(byHours[0], one);
    if (found) return found;
  }
  return undefined;
}

/** The first thing in which two differ so that their values do not stand together, and how each has it. */
export function exposedApart(
  a: ExposedAs | undefined,
  b: ExposedAs | undefined,
):
  | { readonly what: 'medium' | 'duration' | 'face' | 'sterilisation'; readonly a: string; readonly b: string }
  | undefined {
  const medium = (one: ExposedAs | undefined) =>
    one === undefined ? 'no medium on record' : `${one.medium} revision ${one.mediumRevision}`;
  if (medium(a) !== medium(b)) return { what: 'medium', a: medium(a), b: medium(b) };
  if (a === undefined || b === undefined) return undefined;
  if (!isSameDuration(a.hours, b.hours)) return { what: 'duration', a: `${a.hours} h`, b: `${b.hours} h` };
  if (a.face !== b.face) return { what: 'face', a: a.face, b: b.face };
  if (a.sterilised === b.sterilised) return undefined;
  return { what: 'sterilisation', a: sterilisedText(a), b: sterilisedText(b) };
}

export const sterilisedText = ({ sterilised }: Pick<ExposedAs, 'sterilised'>): string =>
  sterilised ? 'sterilised before' : 'not sterilised before';
