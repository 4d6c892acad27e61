/** JSON Schema (draft 2020-12) as far as zod writes it. */
export interface Schema {
  readonly [keyword: string]: unknown;
}

/** One format: the schema of a document, or the columns of a table. */
export type Format = { readonly schema: Schema } | { readonly columns: readonly string[] };
export type Formats = Readonly<Record<string, Format>>;

/**
 * What the formats of now may not do to frozen ones (docs/architecture.md, how formats grow). A format that is new is
 * free. What a schema cannot say, such as a rule between two fields, is not seen here.
 * @returns a line for each breach: format, place, what was done. None when everything that was written can still be read.
 */
export function breaches(frozen: Formats, now: Formats): string[] {
  return Object.entries(frozen).flatMap(([name, was]) => {
    const is = now[name];
    if (is === undefined) return [`${name}: removed`];
    if ('columns' in was)
      return 'columns' in is ? columnBreaches(name, was.columns, is.columns) : [`${name}: no table`];
    return 'schema' in is ? schemaBreaches(was.schema, is.schema, name) : [`${name}: a table`];
  });
}

function columnBreaches(name: string, was: readonly string[], is: readonly string[]): string[] {
  if (was.join('\n') === is.join('\n')) return [];
  return [`${name}: columns ${is.join(', ')} in place of ${was.join(', ')}: further ones come with the next format`];
}

/** Words for people: they may change. */
const WORDS = ['$schema', 'title', 'description', 'examples'];
/** Bounds that may only move down, and only up. */
const LOWER = ['minimum', 'exclusiveMinimum', 'minLength', 'minItems', 'minProperties'];
const UPPER = ['maximum', 'exclusiveMaximum', 'maxLength', 'maxItems', 'maxProperties'];
/** Each has a rule of its own below. */
const RULED = [
  ...['type', 'enum', 'const', 'anyOf', 'oneOf', 'default', 'properties', 'required', 'additionalProperties'],
  ...['items', 'pattern', 'format'],
];

function schemaBreaches(was: Schema, is: Schema, place: string): string[] {
  const changed = same(was.default, is.default) ? [] : [`${place}: another default`];
  const [members, choices] = [membersOf(was), membersOf(is)];
  if (members) return [...changed, ...members.flatMap((member) => fewest(member, choices ?? [is], place))];
  if (choices) return [...changed, ...fewest(was, choices, place)];
  return [
    ...changed,
    ...typeBreaches(was, is, place),
    ...valueBreaches(was, is, place),
    ...boundBreaches(was, is, place),
    ...objectBreaches(was, is, place),
    ...insideBreaches(was, is, place),
    ...otherBreaches(was, is, place),
  ];
}

const membersOf = ({ anyOf, oneOf }: Schema): readonly Schema[] | undefined =>
  (anyOf ?? oneOf) as readonly Schema[] | undefined;

/** A member lives on when one of now takes all that it took; else the nearest says what is wrong. */
function fewest(member: Schema, choices: readonly Schema[], place: string): string[] {
  const found = choices.map((choice) => schemaBreaches(member, choice, place + nameOfMember(member)));
  return found.reduce((least, one) => (one.length < least.length ? one : least));
}

/** By the field that tells members apart. */
function nameOfMember(member: Schema): string {
  const told = Object.entries(fieldsOf(member)).find(([, field]) => typeof field.const === 'string');
  return told ? `(${told[0]} ${String(told[1].const)})` : '';
}

const fieldsOf = ({ properties = {} }: Schema): Readonly<Record<string, Schema>> =>
  properties as Readonly<Record<string, Schema>>;
const listOf = (value: unknown): readonly unknown[] =>
  value === undefined ? [] : Array.isArray(value) ? value : [value];
const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);

function typeBreaches(was: Schema, is: Schema, place: string): string[] {
  const [before, now] = [listOf(was.type), listOf(is.type)];
  const isKept = before.length === 0 ? now.length === 0 : before.every((type) => now.includes(type));
  return isKept ? [] : [`${place}: type ${now.join(', ') || 'any'} in place of ${before.join(', ') || 'any'}`];
}

function valueBreaches(was: Schema, is: Schema, place: string): string[] {
  const valuesOf = ({ enum: values, const: value }: Schema) => (values === undefined ? listOf(value) : listOf(values));
  const [before, now] = [valuesOf(was), valuesOf(is)];
  if (before.length === 0) return now.length === 0 ? [] : [`${place}: only ${now.join(', ')} any more`];
  if (now.length === 0) return [`${place}: any value in place of ${before.join(', ')}`];
  return before.filter((value) => !now.includes(value)).map((value) => `${place}: ${String(value)} removed`);
}

function boundBreaches(was: Schema, is: Schema, place: string): string[] {
  const narrower = (keyword: string, isBeyond: (now: number, before: number) => boolean): boolean => {
    const [before, now] = [was[keyword] as number | undefined, is[keyword] as number | undefined];
    return now !== undefined && (before === undefined || isBeyond(now, before));
  };
  const found = [
    ...LOWER.filter((keyword) => narrower(keyword, (now, before) => now > before)),
    ...UPPER.filter((keyword) => narrower(keyword, (now, before) => now < before)),
    ...['pattern', 'format'].filter((keyword) => is[keyword] !== undefined && !same(was[keyword], is[keyword])),
  ];
  return found.map((keyword) => `${place}: narrower ${keyword}`);
}

function objectBreaches(was: Schema, is: Schema, place: string): string[] {
  const [before, now] = [fieldsOf(was), fieldsOf(is)];
  const needed = listOf(is.required).filter((name) => !listOf(was.required).includes(name));
  return [
    ...Object.entries(before).flatMap(([name, field]) =>
      now[name] === undefined ? [`${place}.${name}: removed`] : schemaBreaches(field, now[name], `${place}.${name}`),
    ),
    ...needed.map((name) => `${place}.${String(name)}: needed, and was not`),
    ...Object.entries(now).flatMap(([name, field]) =>
      before[name] === undefined && hasDefault(field) ? [`${place}.${name}: new, with a default`] : [],
    ),
    ...restBreaches(was.additionalProperties, is.additionalProperties, place),
  ];
}

/** What is said of fields that have no name in the schema: `false`, a schema, or nothing, which is anything. */
function restBreaches(was: unknown, is: unknown, place: string): string[] {
  if (was === false || same(was, is)) return [];
  if (is === false) return [`${place}: no further fields any more`];
  return schemaBreaches((was ?? {}) as Schema, (is ?? {}) as Schema, `${place}.*`);
}

function hasDefault(value: unknown): boolean {
  if (Array.isArray(value)) return value.some(hasDefault);
  if (value === null || typeof value !== 'object') return false;
  const { default: preset, properties = {}, ...rest } = value as Schema;
  return (
    preset !== undefined || Object.values(properties as object).some(hasDefault) || Object.values(rest).some(hasDefault)
  );
}

function insideBreaches(was: Schema, is: Schema, place: string): string[] {
  if (was.items === undefined && is.items === undefined) return [];
  return schemaBreaches((was.items ?? {}) as Schema, (is.items ?? {}) as Schema, `${place}[]`);
}

/** A keyword without a rule of its own stays as it was. */
function otherBreaches(was: Schema, is: Schema, place: string): string[] {
  const known = [...WORDS, ...LOWER, ...UPPER, ...RULED];
  return [...new Set([...Object.keys(was), ...Object.keys(is)])]
    .filter((keyword) => !known.includes(keyword) && !same(was[keyword], is[keyword]))
    .map((keyword) => `${place}: another ${keyword}`);
}
