import { z } from 'zod';

/** Fields that several requests have, each with its one limit. */

/** Several texts of the same name; a form and an address send one of them as a text. */
export const several = (item: z.ZodString, { least, most, what }: { least: number; most: number; what: string }) =>
  z.union(
    [item.transform((one) => [one]), z.array(item).min(least, `at least ${least}`).max(most, `at most ${most}`)],
    { error: what },
  );

/** A form sends its empty fields too. */
export const mayBeEmpty = <T extends z.ZodType>(schema: T) =>
  z.preprocess((value) => (typeof value === 'string' && value.trim() === '' ? undefined : value), schema.optional());

/** Characters of a reason, however it comes. */
export const LONGEST_REASON = 4000;

export const Reason = z.string().max(LONGEST_REASON, `at most ${LONGEST_REASON} characters`);

/** Number of an entry of the audit trail, as people and programs write it. */
export const EntryNumber = z.string().regex(/^[1-9]\d{0,9}$/, 'number of an entry of the audit trail, from 1');

/** Serials of units. */
export const Units = several(z.string().min(1).max(200), { least: 0, most: 500, what: 'serials' }).default([]);

/** Characters that the field of a password takes, in every form. Shorter is what a password may have. */
export const LONGEST_TYPED_PASSWORD = 512;

/** A digest in an answer. */
export const Sha256 = z.string().regex(/^[0-9a-f]{64}$/);
