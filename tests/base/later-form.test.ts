import { z } from 'zod';
import { LaterFormError } from '../../src/base/errors.js';
import { laterForm, parseForm, readKnown } from '../../src/base/later-form.js';

const Known = z.strictObject({
  format: z.literal([1, 2]),
  meaning: z.enum(['reviewed', 'released']),
  acts: z.array(
    z.discriminatedUnion('type', [
      z.strictObject({ type: z.literal('made'), on: z.string() }),
      z.strictObject({ type: z.literal('sent'), to: z.string() }),
    ]),
  ),
  length: z.union([z.number(), z.strictObject({ kind: z.enum(['short', 'long']) })]),
});
const value = { format: 1, meaning: 'reviewed', acts: [{ type: 'made', on: 'Monday' }], length: 3 };

const later = (changed: unknown) => laterForm(Known.safeParse(changed).error!, changed);

describe('what only a later version knows', () => {
  it.each([
    ['a format', { ...value, format: 3 }, 'format 3'],
    ['a format, whatever else is different', { format: 3, meaning: 7 }, 'format 3'],
    ['a member of an enumeration', { ...value, meaning: 'witnessed' }, 'meaning "witnessed"'],
    ['a member of a union', { ...value, acts: [value.acts[0], { type: 'lost' }] }, 'acts[1].type "lost"'],
    ['a field', { ...value, colour: 'grey' }, 'the field "colour"'],
    ['a field inside', { ...value, acts: [{ type: 'sent', to: 'K', by: 'P' }] }, 'the field "by" in acts[0]'],
    ['a member of a choice', { ...value, length: { kind: 'endless' } }, 'length.kind "endless"'],
  ])('is named: %s', (_, changed, says) => {
    expect(later(changed)).toBe(says);
    expect(() => parseForm('it', Known, changed)).toThrow(LaterFormError);
    expect(() => parseForm('it', Known, changed)).toThrow(`it has ${says}`);
  });

  it.each([
    ['a field that is missing', { ...value, meaning: undefined }],
    ['another type', { ...value, meaning: 7 }],
    ['a format that never was', { ...value, format: 0 }],
    ['a format in words', { ...value, format: 'x' }],
    ['nothing', undefined],
    ['a wrong value beside something later', { ...value, meaning: 'witnessed', acts: 'none' }],
    ['something wrong in each member of a choice', { ...value, length: { kind: 7 } }],
  ])('is not %s', (_, changed) => {
    expect(later(changed)).toBeUndefined();
    expect(() => parseForm('it', Known, changed)).toThrow(z.ZodError);
  });

  it('is passed over where it is fields alone, wherever they stand', () => {
    const act = { type: 'sent', to: 'K', by: 'P', at: { day: 1 } };
    const changed = { ...value, colour: 'grey', acts: [act], length: { kind: 'short', ucum: 'm' } };
    expect(readKnown('it', Known, changed)).toEqual({
      known: { ...value, acts: [{ type: 'sent', to: 'K' }], length: { kind: 'short' } },
      whole: changed,
      later: expect.stringContaining('the field "colour"'),
    });
    expect(() => readKnown('it', Known, { ...changed, meaning: 'witnessed' })).toThrow(LaterFormError);
    expect(() => readKnown('it', Known, { ...changed, meaning: 7 })).toThrow(z.ZodError);
  });

  it('is nothing where all is known', () => {
    expect(readKnown('it', Known, value)).toEqual({ known: value, whole: value, later: undefined });
    expect(parseForm('it', Known, value)).toEqual(value);
  });
});
