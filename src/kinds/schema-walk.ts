import { z } from 'zod';

/**
 * One step into a schema that holds its value in another one: what is optional or has a default, the shape of several
 * that the value fits, and of a conversion the side that is described.
 * @returns undefined where the schema describes its value itself.
 */
export function stepInto(schema: z.core.$ZodTypes, value: unknown): z.core.$ZodTypes | undefined {
  const { def } = schema._zod;
  switch (def.type) {
    case 'union': {
      const shapes = def.options as readonly z.core.$ZodTypes[];
      return shapes.find((shape) => z.safeParse(shape, value).success);
    }
    case 'pipe': {
      const before = def.in as z.core.$ZodTypes;
      const after = def.out as z.core.$ZodTypes;
      return after._zod.def.type === 'transform' ? before : after;
    }
    case 'optional':
    case 'nullable':
    case 'default':
    case 'prefault':
    case 'nonoptional':
    case 'readonly':
    case 'catch':
      return def.innerType as z.core.$ZodTypes;
    default:
      return undefined;
  }
}

/** All schemas that a value may have where one holds its value in another: every shape of a union, whatever the value. */
export function heldBy(schema: z.core.$ZodTypes): readonly z.core.$ZodType[] {
  if (schema._zod.def.type === 'union') return schema._zod.def.options;
  const inner = stepInto(schema, undefined);
  return inner === undefined ? [] : [inner];
}
