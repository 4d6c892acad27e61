import { z } from 'zod';
import { heldBy, stepInto } from './schema-walk.js';

/** What else the group of fields says in which a time stands. */
type Group = Readonly<Record<string, unknown>>;

interface Sense {
  /** Whether the group says that it is still to come. */
  readonly unless: (group: Group) => boolean;
}

/** Marks fields of documents that hold the time of a fact: it happened, and was recorded later. */
const HAPPENED = z.registry<Sense>();

/**
 * The same time, as that of a fact: it cannot lie after its recording. A plain time may lie ahead.
 * @param unless where the group of fields in which it stands may say that it is still to come.
 */
export function happened<T extends z.ZodType>(time: T, unless: Sense['unless'] = () => false): T {
  const fact = time.clone() as T;
  HAPPENED.add(fact, { unless });
  return fact;
}

const senseOf = (time: z.core.$ZodType): Sense | undefined => HAPPENED.get(time as z.ZodType);

export const hasHappened = (time: z.core.$ZodType): boolean => senseOf(time) !== undefined;

/** How far the clocks of instruments and other machines may run ahead of ours. */
const TOLERANCE_MS = 5 * 60_000;
/** Where a day begins first. A document names no zone with a day, so a day lies ahead only when it has begun nowhere. */
const FIRST_ZONE = '+14:00';
const DAY_LENGTH = 'yyyy-mm-dd'.length;

/** Whether a fact, told by its moment or its day, lies after the moment at which it was recorded. */
export const liesAhead = (time: string, recordedAt: string): boolean =>
  Date.parse(time.length === DAY_LENGTH ? `${time}T00:00:00${FIRST_ZONE}` : time) >
  Date.parse(recordedAt) + TOLERANCE_MS;

/** The time of one fact, and its place in the document. */
export interface HappenedAt {
  readonly path: readonly PropertyKey[];
  /** A moment with its offset, or a calendar date. */
  readonly time: string;
}

/** Times of all facts in a document of a schema. @param body as the schema gives it. */
export function timesThatHappened(schema: z.core.$ZodType, body: unknown): HappenedAt[] {
  const found: HappenedAt[] = [];
  const visit = (type: z.core.$ZodTypes, value: unknown, path: readonly PropertyKey[], group: Group): void => {
    if (value === undefined || value === null) return;
    const sense = senseOf(type);
    if (sense) {
      if (!sense.unless(group)) found.push({ path, time: value as string });
      return;
    }
    const { def } = type._zod;
    const inside = (inner: z.core.$ZodType, at: unknown, step: PropertyKey, within: Group = group): void =>
      visit(inner as z.core.$ZodTypes, at, [...path, step], within);
    if (def.type === 'object') {
      const fields = value as Group;
      for (const [name, inner] of Object.entries(def.shape)) inside(inner, fields[name], name, fields);
    } else if (def.type === 'array') {
      for (const [index, item] of (value as unknown[]).entries()) inside(def.element, item, index);
    } else if (def.type === 'record') {
      for (const [name, item] of Object.entries(value)) inside(def.valueType, item, name);
    } else {
      const inner = stepInto(type, value);
      if (inner) visit(inner, value, path, group);
    }
  };
  visit(schema as z.core.$ZodTypes, body, [], {});
  return found;
}

/** Places of all times of facts that documents of a schema can have: `builds[].closedAt`; a star stands for any name. */
export function placesOfFacts(schema: z.core.$ZodType): string[] {
  const found = new Set<string>();
  const visit = (type: z.core.$ZodTypes, place: string): void => {
    if (senseOf(type)) {
      found.add(place);
      return;
    }
    const { def } = type._zod;
    const inside = (inner: z.core.$ZodType, at: string): void => visit(inner as z.core.$ZodTypes, at);
    if (def.type === 'object') {
      for (const [name, inner] of Object.entries(def.shape)) inside(inner, place === '' ? name : `${place}.${name}`);
    } else if (def.type === 'array') inside(def.element, `${place}[]`);
    else if (def.type === 'record') inside(def.valueType, `${place}.*`);
    else for (const inner of heldBy(type)) inside(inner, place);
  };
  visit(schema as z.core.$ZodTypes, '');
  return [...found];
}
