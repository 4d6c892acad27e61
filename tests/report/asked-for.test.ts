import { z } from 'zod';
import { KINDS } from '../../src/kinds/catalogue.js';
import { type FormShape, formShape } from '../../src/kinds/form-shape.js';
import { askedForText, isOfNothing } from '../../src/report/phrases/asked-for.js';
import { notForPeople } from '../support/words-for-people.js';

const ABSURD = ['', 'absurd', '-1e999', '2026-13-45T99:00:00Z', '../../x'];

/** A document of a shape with one text everywhere, as far as it is typed: what somebody sends who fills in a form with it. */
function filledWith(shape: FormShape, text: unknown): unknown {
  switch (shape.is) {
    case 'fixed':
      return shape.value;
    case 'group':
      return Object.fromEntries(shape.fields.map(({ name, shape: inner }) => [name, filledWith(inner, text)]));
    case 'list':
      return [filledWith(shape.item, text)];
    case 'either':
      return filledWith(shape.shapes[0]!.shape, text);
    default:
      return text;
  }
}

const toldOf = (schema: z.core.$ZodType, value: unknown): string[] => {
  const parsed = z.safeParse(schema, value);
  return parsed.success ? [] : parsed.error.issues.map((issue) => askedForText(issue));
};

describe.each(KINDS.map((kind) => [kind.kind, kind.schema] as const))('a form of %s', (_kind, schema) => {
  const shape = formShape(schema);

  it('says in words for people what is missing, and what is wrong with absurd things in every field', () => {
    expect(toldOf(schema, {}).length).toBeGreaterThan(0);
    const bodies = [{}, null, [], 'text', ...ABSURD.map((text) => filledWith(shape, text))];
    for (const value of [7, true, [], { x: 1 }]) bodies.push(filledWith(shape, value) as never);
    for (const body of bodies) for (const says of toldOf(schema, body)) expect(notForPeople(says)).toEqual([]);
  });
});

describe('what a schema asks for', () => {
  const asked = (schema: z.ZodType, value: unknown) => toldOf(schema, value)[0];

  it.each([
    ['a text', z.string(), 7, 'a text'],
    ['its own words', z.string('a code of a person'), 7, 'a code of a person'],
    ['a number', z.number(), 'x', 'a number'],
    ['a choice', z.enum(['a', 'b']), 'c', 'one of "a", "b"'],
    ['one value', z.literal('a'), 'c', '"a"'],
    ['a length', z.string().min(2), 'x', 'at least 2 characters'],
    ['entries', z.array(z.string()).min(1), [], 'at least 1 entry'],
    ['a size', z.number().gt(3), 2, 'a number of more than 3'],
    ['a day', z.iso.date(), 'x', 'a day, such as 2026-03-02'],
    [
      'the nearest shape',
      z.union([z.strictObject({ a: z.string(), b: z.string() }), z.strictObject({ a: z.number() })]),
      { a: true },
      'a number',
    ],
    ['no such field', z.strictObject({}), { a: 1 }, 'no field "a"'],
  ])('%s', (_, schema, value, expected) => {
    expect(asked(schema, value)).toBe(expected);
  });

  it('knows when nothing was there at all', () => {
    const issue = (schema: z.ZodType, value: unknown) => schema.safeParse(value).error!.issues[0]!;
    expect(isOfNothing(issue(z.strictObject({ a: z.string() }), {}))).toBe(true);
    expect(isOfNothing(issue(z.union([z.string(), z.array(z.string())]), undefined))).toBe(true);
    expect(isOfNothing(issue(z.string(), 7))).toBe(false);
  });
});
