import { z } from 'zod';

const CommonFields = z.looseObject({
  revision: z.int().optional(),
  reason: z.string().optional(),
  lot: z.string().optional(),
  approval: z.looseObject({ by: z.string(), at: z.string().optional(), original: z.string().optional() }).optional(),
});

/** Fields that several kinds have, of a document whose kind does not matter. */
export const commonFields = (document: unknown): z.infer<typeof CommonFields> => CommonFields.parse(document);

/** The number that a document carries, or undefined where the store numbers it. */
export const numberOf = (
  kind: { readonly numbering: 'document' | 'running' },
  document: unknown,
): number | undefined => (kind.numbering === 'document' ? commonFields(document).revision : undefined);
