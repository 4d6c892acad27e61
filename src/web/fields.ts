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

export const Reason = z.string().max(4000, 'at most 4000 characters');

/** Serials of units. */
export const Units = several(z.string().min(1).max(200), { least: 0, most: 500, what: 'serials' }).default([]);

/**
 * Bounds what is read of a password, here and in the fields of every form. What a password must be is checked where it is
 * chosen, by characters as people see them.
 */
export const LONGEST_TYPED_PASSWORD = 512;

const typedPassword = (what: string) =>
  z.string({ error: what }).min(1, what).max(LONGEST_TYPED_PASSWORD, 'a password of at most 128 characters');

/** Of whoever is signed in or signs in: each act of signing needs it again. */
export const KnownPassword = typedPassword('your password');

export const ChosenPassword = typedPassword('a password');

/** A digest in an answer. */
export const Sha256 = z.string().regex(/^[0-9a-f]{64}$/);
