import { z } from 'zod';
import { LaterFormError } from './errors.js';

/**
 * What in a value only a later version knows, when that is all that is wrong with it: a format, a field, or a member of an
 * enumeration or a union, as forms grow (docs/architecture.md, how formats grow). Undefined for what is wrong in another way.
 */
export function laterForm({ issues }: z.ZodError, value: unknown): string | undefined {
  const format = issues.find((issue) => isLaterFormat(issue, value));
  if (format) return `${placeText(format.path)} ${String(valueAt(value, format.path))}`;
  const named = issues.map((issue) => laterThing(issue, value));
  return named.every((one) => one !== undefined) ? named.slice(0, MOST_NAMED).join('; ') : undefined;
}

const MOST_NAMED = 3;

/**
 * Reads a value by a schema.
 * @throws LaterFormError when only a later version knows what is in it, ZodError when something else is wrong.
 */
export function parseForm<T>(what: string, schema: z.ZodType<T>, value: unknown): T {
  const parsed = schema.safeParse(value);
  if (parsed.success) return parsed.data;
  const later = laterForm(parsed.error, value);
  throw later === undefined ? parsed.error : new LaterFormError(`${what} has ${later}`);
}

/** A value of which a later version may know more. */
export interface KnownForm<T> {
  /** What this version knows of it. */
  readonly known: T;
  /** The value as it stands, for whoever hashes it or hands it on. */
  readonly whole: T;
  /** What a later version knows beside that, and was passed over. */
  readonly later: string | undefined;
}

/**
 * Reads a value by a schema and passes over fields that it lacks, for whoever goes on with the rest and says so.
 * @throws LaterFormError when more than fields is of a later version, ZodError when something else is wrong.
 */
export function readKnown<T>(what: string, schema: z.ZodType<T>, value: unknown): KnownForm<T> {
  const parsed = schema.safeParse(value);
  if (parsed.success) return { known: parsed.data, whole: value as T, later: undefined };
  const fields = furtherFields(parsed.error.issues);
  if (fields === undefined) return { known: parseForm(what, schema, value), whole: value as T, later: undefined };
  const { known, later } = readKnown(what, schema, without(value, fields));
  const named = [laterForm(parsed.error, value), later].filter((one) => one !== undefined).join('; ');
  return { known, whole: value as T, later: named };
}

type Path = readonly PropertyKey[];

/** Places of the fields that a schema lacks, when nothing else is wrong. */
function furtherFields(issues: readonly Issue[], inside: Path = []): Path[] | undefined {
  const found = issues.map((issue) => {
    const path = [...inside, ...issue.path];
    if (issue.code === 'unrecognized_keys') return issue.keys.map((key) => [...path, key]);
    if (issue.code !== 'invalid_union') return undefined;
    return issue.errors.map((member) => furtherFields(member, path)).find((fields) => fields !== undefined);
  });
  return found.every((one) => one !== undefined) ? found.flat() : undefined;
}

function without(value: unknown, fields: readonly Path[]): unknown {
  const copy = structuredClone(value);
  for (const path of fields) delete (valueAt(copy, path.slice(0, -1)) as Record<PropertyKey, unknown>)[path.at(-1)!];
  return copy;
}

type Issue = z.core.$ZodIssue;

/** A later format may differ in everything else. */
function isLaterFormat(issue: Issue, value: unknown): boolean {
  if (issue.code !== 'invalid_value' || issue.path.at(-1) !== 'format') return false;
  const found = valueAt(value, issue.path);
  const known = issue.values.filter((one) => typeof one === 'number');
  return Number.isInteger(found) && known.length > 0 && (found as number) > Math.max(...known);
}

function laterThing(issue: Issue, value: unknown): string | undefined {
  const found = valueAt(value, issue.path);
  const place = placeText(issue.path);
  if (issue.code === 'unrecognized_keys') {
    const inside = place === '' ? '' : ` in ${place}`;
    return issue.keys.map((key) => `the field "${key}"${inside}`).join(', ');
  }
  if (issue.code === 'invalid_value') {
    const isWord = typeof found === 'string' && issue.values.every((known) => typeof known === 'string');
    // A document of another kind is no later form of this one.
    return isWord && place !== 'kind' ? `${place} "${found}"` : undefined;
  }
  if (issue.code !== 'invalid_union') return undefined;
  // A union that is told apart by a field names the place of that field; any other has the faults of each member.
  if (issue.errors.length === 0) return typeof found === 'string' ? `${place} "${found}"` : undefined;
  return issue.errors
    .map((member) => member.map((one) => laterThing({ ...one, path: [...issue.path, ...one.path] }, value)))
    .find((member) => member.every((one) => one !== undefined))
    ?.join('; ');
}

const valueAt = (value: unknown, path: Path): unknown =>
  path.reduce<unknown>((inside, step) => (inside as Record<PropertyKey, unknown> | null | undefined)?.[step], value);

const placeText = (path: Path): string =>
  path.map((step, at) => (typeof step === 'number' ? `[${step}]` : `${at === 0 ? '' : '.'}${String(step)}`)).join('');
