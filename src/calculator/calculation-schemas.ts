import { z } from 'zod';

const LONGEST_TEXT = 1_000_000;

/** What a page sends: the fields by their places, or the whole input as JSON text. */
export const CalculationForm = z.record(
  z.string().max(200),
  z.union([
    z.string().max(LONGEST_TEXT, 'a text of at most a million characters'),
    z.array(z.string().max(200, 'a short text')).max(100, 'at most a hundred ticks'),
  ]),
);
export type CalculationForm = z.infer<typeof CalculationForm>;

/** Names in the form that are no field of a calculation: none is called so. */
export const AS_JSON = 'input';
export const DO = ':do';

/** What a program sends. The calculation itself knows its fields, and names the one that it refuses. */
export const CalculationInput = z.looseObject({});
export type CalculationInput = z.infer<typeof CalculationInput>;

export const CalculationsAnswer = z.strictObject({
  calculations: z.array(z.strictObject({ name: z.string(), purpose: z.string(), source: z.string() })),
});
export type CalculationsAnswer = z.infer<typeof CalculationsAnswer>;
