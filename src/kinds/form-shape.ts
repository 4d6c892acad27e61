import { z } from 'zod';
import { type FormSense, senseOf } from './form-sense.js';

/**
 * What a form has to ask for, so that a document of a schema comes out: walked once from the schema of a kind. A new field
 * of a schema is a field of its form with nothing said here.
 */
export type FormShape = Fixed | Choice | Line | Group | List | Either;

interface Described {
  /** As the schema says it; the words of its type where it says no more. */
  readonly help: string | undefined;
  readonly schema: z.core.$ZodType;
}

/** One value only: nobody is asked for it. */
interface Fixed extends Described {
  readonly is: 'fixed';
  readonly value: string;
}
interface Choice extends Described {
  readonly is: 'choice';
  readonly options: readonly string[];
}
interface Line extends Described {
  readonly is: 'line';
  readonly sense: FormSense | 'moment' | 'day' | undefined;
}
interface Group extends Described {
  readonly is: 'group';
  readonly fields: readonly FormPart[];
}
interface List extends Described {
  readonly is: 'list';
  /** Whether the list itself may hold nothing. */
  readonly mayBeEmpty: boolean;
  readonly item: FormShape;
}
/** One of several shapes, by its name: `2: fields state and massG`. */
interface Either extends Described {
  readonly is: 'either';
  readonly shapes: readonly NamedShape[];
}
export interface NamedShape {
  readonly name: string;
  readonly shape: FormShape;
}

/** A field of a group. */
export interface FormPart {
  readonly name: string;
  readonly shape: FormShape;
  /** Whether the document may do without it. */
  readonly mayMiss: boolean;
}

const KEPT = new WeakMap<z.core.$ZodType, FormShape>();

export function formShape(schema: z.core.$ZodType): FormShape {
  const kept = KEPT.get(schema);
  if (kept) return kept;
  const shape = walk(schema as z.core.$ZodTypes, undefined);
  KEPT.set(schema, shape);
  return shape;
}

const helpOf = (schema: z.core.$ZodType): string | undefined => z.globalRegistry.get(schema as z.ZodType)?.description;

function walk(schema: z.core.$ZodTypes, outer: string | undefined): FormShape {
  const help = outer ?? helpOf(schema);
  const sense = senseOf(schema);
  if (sense) return { is: 'line', sense, help, schema };
  const { def } = schema._zod;
  const inner = (next: z.core.$ZodType) => walk(next as z.core.$ZodTypes, help);
  switch (def.type) {
    case 'object':
      return { is: 'group', fields: Object.entries(def.shape).map(part), help, schema };
    case 'array':
      return {
        is: 'list',
        mayBeEmpty: z.safeParse(schema, []).success,
        item: walk(def.element as z.core.$ZodTypes, undefined),
        help,
        schema,
      };
    case 'enum':
      return { is: 'choice', options: Object.values(def.entries).map(String), help, schema };
    case 'literal':
      return { is: 'fixed', value: String(def.values[0]), help, schema };
    case 'union':
      return either(schema, def.options, help);
    case 'pipe':
      return inner((def.in as z.core.$ZodTypes)._zod.def.type === 'transform' ? def.out : def.in);
    case 'optional':
    case 'nullable':
    case 'default':
    case 'prefault':
    case 'nonoptional':
    case 'readonly':
    case 'catch':
      return inner(def.innerType);
    case 'string': {
      const { format } = def as { format?: string };
      return {
        is: 'line',
        sense: format === 'datetime' ? 'moment' : format === 'date' ? 'day' : undefined,
        help,
        schema,
      };
    }
    case 'number':
      return { is: 'line', sense: 'whole', help, schema };
    default:
      throw new Error(`no form knows the type ${def.type}`);
  }
}

function part([name, schema]: [string, z.core.$ZodType]): FormPart {
  const shape = walk(schema as z.core.$ZodTypes, undefined);
  const mayMiss = z.safeParse(schema, undefined).success;
  if (!mayMiss || shape.is !== 'fixed') return { name, shape, mayMiss };
  // Said or not: so it is asked for.
  return { name, shape: { ...shape, is: 'choice', options: [shape.value] }, mayMiss };
}

function either(schema: z.core.$ZodTypes, options: readonly z.core.$ZodType[], help: string | undefined): FormShape {
  const shapes = options.flatMap((option) => {
    const shape = walk(option as z.core.$ZodTypes, undefined);
    return shape.is === 'either' ? shape.shapes.map((one) => one.shape) : [shape];
  });
  const values = new Set(shapes.map((shape) => (shape.is === 'fixed' ? shape.value : undefined)));
  if (!values.has(undefined)) {
    const options = [...values] as string[];
    return options.length === 1
      ? { is: 'fixed', value: options[0]!, help, schema }
      : { is: 'choice', options, help, schema };
  }
  // A number written as a text and the number itself are typed alike.
  if (shapes.every((shape) => shape.is === 'line')) return { ...shapes[0]!, help, schema } as Line;
  return { is: 'either', shapes: shapes.map((shape) => ({ name: shapeName(shape), shape })), help, schema };
}

/** A shape is known by its constant, else by the fields that it must have. */
function shapeName(shape: FormShape): string {
  if (shape.is === 'fixed') return shape.value;
  if (shape.is !== 'group') return shape.is;
  const fixed = shape.fields.find((field) => field.shape.is === 'fixed');
  if (fixed?.shape.is === 'fixed') return fixed.shape.value;
  return shape.fields
    .filter((field) => !field.mayMiss)
    .map((field) => field.name)
    .join('+');
}
