import { z } from 'zod';
import { stepInto } from './schema-walk.js';

/** Marks fields of documents that hold the time of a fact: it happened, and was recorded later. */
const HAPPENED = z.registry<{ readonly happened: true }>();

/** The same time, as that of a fact: it cannot lie after its recording. A plain time may lie ahead. */
export function happened<T extends z.ZodType>(time: T): T {
  const fact = time.clone() as T;
  HAPPENED.add(fact, { happened: true });
  return fact;
}

export const hasHappened = (time: z.core.$ZodType): boolean => HAPPENED.get(time as z.ZodType) !== undefined;

/** The time of one fact, and its place in the document. */
export interface HappenedAt {
  readonly path: readonly PropertyKey[];
  /** A moment with its offset, or a calendar date. */
  readonly time: string;
}

/** Times of all facts in a document of a schema. @param body as the schema gives it. */
export function timesThatHappened(schema: z.core.$ZodType, body: unknown): HappenedAt[] {
  const found: HappenedAt[] = [];
  const visit = (type: z.core.$ZodTypes, value: unknown, path: readonly PropertyKey[]): void => {
    if (value === undefined || value === null) return;
    if (hasHappened(type)) {
      found.push({ path, time: value as string });
      return;
    }
    const { def } = type._zod;
    const inside = (inner: z.core.$ZodType, at: unknown, step: PropertyKey): void =>
      visit(inner as z.core.$ZodTypes, at, [...path, step]);
    if (def.type === 'object') {
      for (const [name, inner] of Object.entries(def.shape))
        inside(inner, (value as Record<string, unknown>)[name], name);
    } else if (def.type === 'array') {
      for (const [index, item] of (value as unknown[]).entries()) inside(def.element, item, index);
    } else if (def.type === 'record') {
      for (const [name, item] of Object.entries(value)) inside(def.valueType, item, name);
    } else {
      const inner = stepInto(type, value);
      if (inner) visit(inner, value, path);
    }
  };
  visit(schema as z.core.$ZodTypes, body, []);
  return found;
}
