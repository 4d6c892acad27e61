import { z } from 'zod';
import type { JsonSchema } from '../base/json-schema.js';
import type { AnyCalculation } from './calculation.js';

/** One input field of a calculation, for help texts and pages. */
export interface InputField {
  readonly name: string;
  /** `number`, `list of number or text`, `a | b` … */
  readonly type: string;
  readonly required: boolean;
  /** Default value as JSON text, where there is one. */
  readonly default?: string;
  readonly meaning: string;
}

/** The input fields that belong together; a calculation with a choice in its first field has one set per choice. */
export type InputFields = readonly InputField[];

/** The input fields of a calculation, read from its schema: one list, or one per variant. */
export function inputFields(calculation: AnyCalculation): readonly InputFields[] {
  const schema = inputSchema(calculation) as JsonSchema;
  const variants = schema.anyOf ?? schema.oneOf ?? [schema];
  return variants.map((variant) =>
    Object.entries(variant.properties ?? {}).map(([name, field]) => ({
      name,
      type: typeText(field),
      required: (variant.required ?? []).includes(name),
      ...(field.default !== undefined && { default: JSON.stringify(field.default) }),
      meaning: field.description ?? '',
    })),
  );
}

/** The JSON Schema of a calculation's input, as it is given (before defaults). */
export function inputSchema(calculation: AnyCalculation): Record<string, unknown> {
  return z.toJSONSchema(calculation.input, { io: 'input', unrepresentable: 'any' }) as Record<string, unknown>;
}

function typeText(schema: JsonSchema): string {
  if (schema.const !== undefined) return JSON.stringify(schema.const);
  if (schema.enum) return schema.enum.map((value) => JSON.stringify(value)).join(' | ');
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices) return [...new Set(choices.map(typeText))].join(' or ');
  if (schema.type === 'array') return `list of ${typeText(schema.items ?? {})}`;
  return [schema.type ?? 'object'].flat().map(plainTypeName).join(' or ');
}

function plainTypeName(type: string): string {
  if (type === 'integer') return 'whole number';
  return type === 'string' ? 'text' : type;
}
