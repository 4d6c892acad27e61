import { z } from 'zod';

/** How values of a build were made and measured, as the lot file tells it: what may have changed where they move. */
export const Made = z.strictObject({
  powder: z
    .array(z.strictObject({ heat: z.string(), supplier: z.string(), share: z.number() }))
    .describe('mass fractions of heats in what the build took, over all mixing that came before'),
  operator: z.string(),
  analysts: z.array(z.string()),
  maintained: z.string().nullable().describe('last maintenance of the machine before the build'),
  calibrated: z.array(
    z.strictObject({
      instrument: z.string(),
      at: z.string().nullable(),
      overdue: z.literal(true).optional().describe('used after its calibration was due, or without one'),
    }),
  ),
  worn: z
    .array(z.strictObject({ consumable: z.string(), category: z.string(), uses: z.int(), hours: z.number() }))
    .describe('what touched the parts and wears out: uses up to the build, and hours since it came into use'),
  batches: z.array(z.string()).describe('of the medium in which specimens lay'),
  measured: z.strictObject({ from: z.string(), to: z.string() }).nullable().describe('first and last measurement'),
});
export type Made = z.infer<typeof Made>;

/** A value that is in no sum, as it was reported, and why it stands apart. */
export const ApartValue = z.strictObject({
  specimen: z.string(),
  piece: z.string(),
  replicate: z.int(),
  value: z.string(),
  why: z.enum(['bound', 'repeat', 'replacement', 'reworked']),
});
export type ApartValue = z.infer<typeof ApartValue>;

/** A specimen that people decided not to conform; its values count all the same. */
export const Nonconforming = z.strictObject({
  specimen: z.string(),
  nonconformity: z.string(),
  as: z.string(),
  decidedBy: z.array(z.string()),
});
export type Nonconforming = z.infer<typeof Nonconforming>;

/** The specification by which a lot is judged, and what it says of the characteristic. */
export const Judged = z.strictObject({
  specification: z.string(),
  revision: z.int(),
  lower: z.string().nullable(),
  upper: z.string().nullable(),
  target: z.string().nullable(),
});
export type Judged = z.infer<typeof Judged>;

/** What the history of a family tells beside the values of a build. Nothing of it where a lot says them no more. */
export const BesideValues = z.strictObject({
  made: Made.optional(),
  judged: Judged.optional(),
  apart: z.array(ApartValue).optional(),
  nonconforming: z.array(Nonconforming).optional(),
});
export type BesideValues = z.infer<typeof BesideValues>;
