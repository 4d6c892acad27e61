import { z } from 'zod';

/** What a page sends: JSON text of the input. */
export const CalculationForm = z.strictObject({
  input: z.string().max(1_000_000, 'a text of at most a million characters'),
});
export type CalculationForm = z.infer<typeof CalculationForm>;

/** What a program sends. The calculation itself knows its fields, and names the one that it refuses. */
export const CalculationInput = z.looseObject({});
export type CalculationInput = z.infer<typeof CalculationInput>;

export const CalculationsAnswer = z.strictObject({
  calculations: z.array(z.strictObject({ name: z.string(), purpose: z.string(), source: z.string() })),
});
export type CalculationsAnswer = z.infer<typeof CalculationsAnswer>;
