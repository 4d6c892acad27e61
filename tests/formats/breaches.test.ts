import { z } from 'zod';
import { breaches, type Schema } from './breaches.js';

const schema = (of: z.ZodType) => ({ schema: z.toJSONSchema(of, { io: 'input', unrepresentable: 'any' }) as Schema });
const found = (was: z.ZodType, is: z.ZodType): string[] => breaches({ a: schema(was) }, { a: schema(is) });

const BASE = {
  format: z.literal(1),
  name: z.string().min(1).max(40),
  note: z.string().optional(),
  level: z.enum(['alert', 'action']),
  size: z.int().min(1),
  parts: z.array(z.strictObject({ part: z.string() })),
  by: z.record(z.string(), z.number()),
  act: z.discriminatedUnion('type', [
    z.strictObject({ type: z.literal('made'), on: z.string() }),
    z.strictObject({ type: z.literal('sent'), to: z.string() }),
  ]),
  length: z.union([z.number(), z.string()]),
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
};
const was = z.strictObject(BASE);
const changed = (fields: z.ZodRawShape) => z.strictObject({ ...BASE, ...fields });
const [made, sent] = BASE.act.options;

describe('a frozen format may grow by', () => {
  it.each<[string, z.ZodType]>([
    ['nothing', was],
    ['other words', was.describe('told otherwise')],
    ['an optional field', changed({ more: z.string().optional() })],
    [
      'an optional field inside a list',
      changed({ parts: z.array(z.strictObject({ part: z.string(), mass: z.string().optional() })) }),
    ],
    ['a member of an enumeration', changed({ level: z.enum(['alert', 'action', 'reject']) })],
    ['the next format', changed({ format: z.literal([1, 2]) })],
    [
      'a member of a union that a field tells apart',
      changed({ act: z.discriminatedUnion('type', [made, sent, z.strictObject({ type: z.literal('lost') })]) }),
    ],
    [
      'an optional field of such a member',
      changed({ act: z.discriminatedUnion('type', [made.extend({ by: z.string().optional() }), sent]) }),
    ],
    ['a member of any other union', changed({ length: z.union([z.number(), z.string(), z.boolean()]) })],
    ['a choice beside what there was', changed({ name: z.union([BASE.name, z.number()]) })],
    ['wider bounds', changed({ name: z.string().max(80), size: z.int().min(0) })],
    ['the end of a pattern', changed({ sha256: z.string() })],
    ['a further format of the whole', z.union([was, z.strictObject({ format: z.literal(2) })])],
  ])('%s', (_, is) => {
    expect(found(was, is)).toEqual([]);
  });

  it('formats and tables that are new', () => {
    expect(breaches({}, { a: schema(was), b: { columns: ['x'] } })).toEqual([]);
  });
});

describe('a frozen format is broken by', () => {
  const { note: _, ...withoutNote } = BASE;
  it.each<[string, z.ZodType, string]>([
    ['a field less', z.strictObject(withoutNote), 'a.note: removed'],
    ['a renamed field', z.strictObject({ ...withoutNote, remark: z.string().optional() }), 'a.note: removed'],
    ['a needed field', changed({ more: z.string() }), 'a.more: needed, and was not'],
    ['an optional field that is needed now', changed({ note: z.string() }), 'a.note: needed, and was not'],
    ['a new field with a default', changed({ more: z.string().default('none') }), 'a.more: new, with a default'],
    [
      'a default inside a new field',
      changed({ more: z.strictObject({ x: z.string().default('') }).optional() }),
      'a.more: new, with a default',
    ],
    ['a default for an old field', changed({ note: z.string().default('none') }), 'a.note: another default'],
    ['another type', changed({ size: z.string() }), 'a.size: type string in place of integer'],
    ['a list in place of one', changed({ name: z.array(z.string()) }), 'a.name: type array in place of string'],
    ['a member of an enumeration less', changed({ level: z.enum(['alert']) }), 'a.level: action removed'],
    ['an enumeration where there was any text', changed({ note: z.enum(['x']).optional() }), 'a.note: only x any more'],
    ['an enumeration given up', changed({ level: z.string() }), 'a.level: any value in place of alert, action'],
    ['another constant', changed({ format: z.literal(2) }), 'a.format: 1 removed'],
    ['a member of a union less', changed({ act: z.discriminatedUnion('type', [made]) }), 'a.act(type sent)'],
    [
      'a needed field in a member of a union',
      changed({ act: z.discriminatedUnion('type', [made.extend({ by: z.string() }), sent]) }),
      'a.act(type made).by: needed, and was not',
    ],
    ['a choice less', changed({ length: z.number() }), 'a.length: type number in place of number, string'],
    ['a higher lower bound', changed({ size: z.int().min(2) }), 'a.size: narrower minimum'],
    ['a lower upper bound', changed({ name: z.string().min(1).max(20) }), 'a.name: narrower maxLength'],
    ['a pattern', changed({ note: z.string().regex(/x/).optional() }), 'a.note: narrower pattern'],
    ['another pattern', changed({ sha256: z.string().regex(/^[0-9a-f]{40}$/) }), 'a.sha256: narrower pattern'],
    [
      'something else inside a list',
      changed({ parts: z.array(z.strictObject({ part: z.number() })) }),
      'a.parts[].part: type number',
    ],
    [
      'a needed field inside a list',
      changed({ parts: z.array(z.strictObject({ part: z.string(), mass: z.string() })) }),
      'a.parts[].mass: needed',
    ],
    [
      'something else in a map',
      changed({ by: z.record(z.string(), z.string()) }),
      'a.by.*: type string in place of number',
    ],
    ['other names in a map', changed({ by: z.record(z.string().min(3), z.number()) }), 'a.by: another propertyNames'],
    [
      'names instead of a map',
      changed({ by: z.strictObject({ x: z.number().optional() }) }),
      'a.by: no further fields any more',
    ],
  ])('%s', (_, is, says) => {
    expect(found(was, is).join('\n')).toContain(says);
  });

  it('its end', () => {
    expect(breaches({ a: schema(was) }, {})).toEqual(['a: removed']);
  });

  it.each([
    ['a further column', ['x', 'y', 'z']],
    ['a column less', ['x']],
    ['another order', ['y', 'x']],
  ])('%s of a table', (_, columns) => {
    expect(breaches({ t: { columns: ['x', 'y'] } }, { t: { columns } })).toHaveLength(1);
  });

  it('a table that is one no more', () => {
    expect(breaches({ t: { columns: ['x'] } }, { t: schema(was) })).toEqual(['t: no table']);
    expect(breaches({ t: schema(was) }, { t: { columns: ['x'] } })).toEqual(['t: a table']);
  });
});
