import { z } from 'zod';
import { KINDS } from '../../src/kinds/catalogue.js';
import { Moment, PastDay, PastMoment } from '../../src/kinds/fields.js';
import { hasHappened, timesThatHappened } from '../../src/kinds/happened.js';

const AT = '2031-03-03T08:00:00+01:00';

describe('times of facts in a document', () => {
  it('are found wherever they stand, and others are not', () => {
    const schema = z.strictObject({
      at: PastMoment.describe('when it was done'),
      due: z.iso.date(),
      stays: z.array(z.strictObject({ from: PastMoment, to: PastMoment.optional() })).default([]),
      one: z.union([z.strictObject({ planned: z.iso.date() }), z.strictObject({ on: PastDay })]),
      named: z.record(z.string(), PastDay),
      early: z
        .preprocess(
          (value) => value,
          PastMoment.refine((text) => text !== ''),
        )
        .nullable(),
    });
    const body = {
      at: AT,
      due: '2031-04-01',
      stays: [{ from: AT }, { from: AT, to: AT }],
      one: { on: '2031-03-01' },
      named: { a: '2031-03-02' },
      early: AT,
    };
    expect(timesThatHappened(schema, body).map(({ path, time }) => `${path.join('.')} ${time}`)).toEqual([
      `at ${AT}`,
      `stays.0.from ${AT}`,
      `stays.1.from ${AT}`,
      `stays.1.to ${AT}`,
      'one.on 2031-03-01',
      'named.a 2031-03-02',
      `early ${AT}`,
    ]);
  });
});

/** Planned, due, valid from or until: such times may lie ahead. */
const MAY_LIE_AHEAD = [
  'due',
  'dueOn',
  'effectiveFrom',
  'expiry',
  'from',
  'neededBy',
  'surgeryOn',
  'to',
  'until',
  'validFrom',
  'validUntil',
];

describe('each time in a document', () => {
  it.each(KINDS.map((kind) => [kind.kind, kind.schema] as const))(
    'of kind %s has happened, or may lie ahead by its name',
    (_, schema) => {
      expect(plainTimes(schema).filter((name) => !MAY_LIE_AHEAD.includes(name))).toEqual([]);
    },
  );

  it('is found at all', () => {
    expect(plainTimes(z.strictObject({ soon: z.array(Moment.optional()), was: PastMoment }))).toEqual(['soon']);
  });
});

/** Names of the fields of a schema that hold a time of which nothing says that it happened. */
function plainTimes(schema: z.core.$ZodType, name = ''): string[] {
  if (hasHappened(schema)) return [];
  const { def } = (schema as z.core.$ZodTypes)._zod;
  if (def.type === 'object') return Object.entries(def.shape).flatMap(([field, inner]) => plainTimes(inner, field));
  if (def.type === 'string')
    return ['datetime', 'date'].includes((def as { format?: string }).format ?? '') ? [name] : [];
  return Object.values(def)
    .flat()
    .filter((value) => value instanceof z.core.$ZodType)
    .flatMap((inner) => plainTimes(inner, name));
}
