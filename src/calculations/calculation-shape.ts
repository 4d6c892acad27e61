import type { JsonSchema } from '../base/json-schema.js';
import type { AnyCalculation } from './calculation.js';
import { inputSchema } from './calculation-fields.js';

/** How a form asks for a value: made from the schema of a calculation, so that a new one has a form by itself. */
export type CalcShape =
  | { readonly is: 'number' | 'whole' | 'text' | 'yes or no' | 'json' }
  | { readonly is: 'choice'; readonly options: readonly (string | number)[] }
  | { readonly is: 'ticks'; readonly options: readonly string[] }
  /** Values; of depth 2 in groups, of depth 3 in groups of groups. */
  | { readonly is: 'list'; readonly depth: number }
  /** A table: a row for each, its columns in this order. */
  | { readonly is: 'rows'; readonly columns: readonly CalcField[] }
  | { readonly is: 'group'; readonly fields: readonly CalcField[] }
  | Variants;

/** One of several shapes, by the value of a field that each of them has. */
export interface Variants {
  readonly is: 'variants';
  readonly by: CalcField;
  readonly variants: readonly { readonly value: string; readonly fields: readonly CalcField[] }[];
}

export interface CalcField {
  readonly name: string;
  readonly shape: CalcShape;
  readonly mayMiss: boolean;
  /** What stands where it is left empty. */
  readonly otherwise: unknown;
  readonly meaning: string;
}

/** What the form of a calculation asks for: a group, or one of several shapes. */
export function calcShape(calculation: AnyCalculation): Extract<CalcShape, { is: 'group' | 'variants' }> {
  const shape = shapeOf(inputSchema(calculation) as JsonSchema);
  if (shape.is !== 'group' && shape.is !== 'variants')
    throw new Error(`no form knows the input of ${calculation.name}`);
  return shape;
}

function shapeOf(schema: JsonSchema): CalcShape {
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices) return choiceOf(choices);
  if (schema.const !== undefined) return { is: 'choice', options: [schema.const as string | number] };
  if (schema.enum) return { is: 'choice', options: schema.enum as readonly string[] };
  if (schema.type === 'object') return { is: 'group', fields: fieldsOf(schema) };
  if (schema.type === 'array') return listOf(schema.items ?? {});
  if (schema.type === 'number') return { is: 'number' };
  if (schema.type === 'integer') return { is: 'whole' };
  if (schema.type === 'boolean') return { is: 'yes or no' };
  // A text, or a number that may be written as one.
  return schema.type === undefined ? { is: 'json' } : { is: 'text' };
}

function choiceOf(choices: readonly JsonSchema[]): CalcShape {
  if (choices.every((choice) => choice.const !== undefined)) {
    return { is: 'choice', options: choices.map((choice) => choice.const as string | number) };
  }
  const objects = choices.map(fieldsOf);
  const named = objects[0]?.find(
    ({ name, shape }) => shape.is === 'choice' && objects.every((one) => hasChoice(one, name)),
  );
  if (named === undefined) return { is: 'json' };
  const variants = objects.flatMap((fields) => {
    const { shape } = fields.find(({ name }) => name === named.name)!;
    const options = shape.is === 'choice' ? shape.options : [];
    return options.map((value) => ({ value: String(value), fields: fields.filter(({ name }) => name !== named.name) }));
  });
  const by = { ...named, shape: { is: 'choice' as const, options: variants.map(({ value }) => value) } };
  return { is: 'variants', by, variants };
}

const hasChoice = (fields: readonly CalcField[], name: string): boolean =>
  fields.some((field) => field.name === name && field.shape.is === 'choice');

function listOf(item: JsonSchema): CalcShape {
  const inner = shapeOf(item);
  if (inner.is === 'list') return { is: 'list', depth: inner.depth + 1 };
  if (inner.is === 'choice') return { is: 'ticks', options: inner.options.map(String) };
  if (inner.is === 'group') return { is: 'rows', columns: inner.fields };
  return inner.is === 'json' || inner.is === 'variants' ? { is: 'json' } : { is: 'list', depth: 1 };
}

const fieldsOf = ({ properties = {}, required = [] }: JsonSchema): CalcField[] =>
  Object.entries(properties).map(([name, schema]) => ({
    name,
    shape: shapeOf(schema),
    mayMiss: !required.includes(name),
    otherwise: schema.default,
    meaning: schema.description ?? '',
  }));
