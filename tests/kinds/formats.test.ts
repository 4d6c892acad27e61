import { z } from 'zod';
import { knownFormats, readAnyFormat } from '../../src/kinds/formats.js';
import { defineKind } from '../../src/kinds/kind.js';

const First = z.strictObject({ format: z.literal(1), rack: z.string(), shelves: z.string().transform(Number) });
const Second = z.strictObject({ format: z.literal(2), rack: z.string(), shelves: z.array(z.number()) });
const Third = z.strictObject({
  format: z.literal(3),
  rack: z.string(),
  shelves: z.array(z.number()),
  room: z.string(),
});
type Third = z.infer<typeof Third>;

const rack = defineKind<Third>({
  kind: 'rack',
  numbering: 'running',
  purpose: 'Invented.',
  schema: Third,
  earlier: [
    {
      schema: First,
      upgrade: (first: z.infer<typeof First>) => ({ ...first, format: 2, shelves: Array(first.shelves).fill(1) }),
    },
    { schema: Second, upgrade: (second: z.infer<typeof Second>) => ({ ...second, format: 3, room: 'not stated' }) },
  ],
  key: (document) => document.rack,
  name: (document) => `rack ${document.rack}`,
});

describe('a kind with three formats', () => {
  it.each([
    [
      { format: 1, rack: 'R', shelves: '2' },
      { format: 1, rack: 'R', shelves: 2 },
    ],
    [
      { format: 2, rack: 'R', shelves: [1, 1] },
      { format: 2, rack: 'R', shelves: [1, 1] },
    ],
  ])('keeps %j as it is written, and is worked on in the newest shape', (document, written) => {
    const body = { format: 3, rack: 'R', shelves: [1, 1], room: 'not stated' };
    expect(readAnyFormat(rack, document)).toEqual({ written, body });
  });

  it('takes the newest as it is', () => {
    const document = { format: 3, rack: 'R', shelves: [4], room: 'A' };
    expect(readAnyFormat(rack, document)).toEqual({ written: document, body: document });
  });

  it('names a format that nobody knows', () => {
    expect(() => readAnyFormat(rack, { format: 4 })).toThrow(
      'a document of kind rack and format 4: this program knows formats 1 to 3',
    );
    expect(knownFormats(rack)).toBe('formats 1 to 3');
  });

  it.each([
    ['none', {}],
    ['a word', { format: 'x' }],
    ['nought', { format: 0 }],
    ['a half', { format: 1.5 }],
    ['nothing at all', null],
  ])('says what is wrong where the format is %s', (_, document) => {
    expect(() => readAnyFormat(rack, document)).toThrow(z.ZodError);
  });

  it('reads each format by its own schema alone', () => {
    expect(() => readAnyFormat(rack, { format: 2, rack: 'R', shelves: '2' })).toThrow(z.ZodError);
    expect(() => readAnyFormat(rack, { format: 1, rack: 'R', shelves: [1], room: 'A' })).toThrow(z.ZodError);
  });
});
