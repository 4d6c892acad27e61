import { z } from 'zod';

/** What a person types into a field, where its schema alone does not say it. */
export type FormSense = 'code' | 'text' | 'decimal' | 'certified' | 'whole' | 'unit' | 'file';

const SENSES = z.registry<{ readonly sense: FormSense }>();

/** Marks a type of field; what is made of it by `refine` or `describe` keeps the mark. */
export function typedAs<T extends z.ZodType>(sense: FormSense, type: T): T {
  SENSES.add(type, { sense });
  return type;
}

export const senseOf = (type: z.core.$ZodType): FormSense | undefined => SENSES.get(type as z.ZodType)?.sense;
