import fc from 'fast-check';
import { balanceOf, courseOf, type MoveDocument, type PartStory, stepAt } from '../../src/dossier/unit-places.js';
import type { Place } from '../../src/kinds/after-release/places.js';

const TO = { institution: 'Invented Hospital', address: 'Invented Street 2' };
const FORM = { format: 1 } as const;
const day = (number: number, hour = 10): string =>
  `2031-04-${String(number).padStart(2, '0')}T${String(hour).padStart(2, '0')}:00:00+02:00`;

const handover = (handoverCode: string, at: string, more: object = {}): MoveDocument =>
  ({
    ...FORM,
    kind: 'handover',
    handover: handoverCode,
    implants: ['A'],
    to: TO,
    at,
    by: 'P',
    ...more,
  }) as MoveDocument;
const outcome = (what: string, on: string, n = 1, under = 'H1'): MoveDocument =>
  ({ ...FORM, kind: 'outcome', implant: 'A', n, what, on, handover: under, reportedBy: 'theatre' }) as MoveDocument;
const back = (at: string): MoveDocument =>
  ({
    ...FORM,
    kind: 'unit-return',
    return: 'R1',
    implants: ['A'],
    from: 'there',
    why: 'w',
    condition: 'c',
    at,
    by: 'P',
  }) as MoveDocument;
const disposal = (at: string): MoveDocument =>
  ({
    ...FORM,
    kind: 'disposal',
    disposal: 'D1',
    implants: ['A'],
    how: 'melted',
    at,
    by: 'P',
    witness: 'Q',
  }) as MoveDocument;
const UNRELEASED = { unreleased: { authority: 'court', why: 'w', nonconformity: 'NC' } };

const story = (documents: readonly MoveDocument[], more: Partial<PartStory> = {}): PartStory => ({
  kind: 'implant',
  key: 'A',
  madeAt: day(1),
  fate: undefined,
  standings: [{ at: day(2), is: 'released', held: false }],
  documents,
  ...more,
});
const places = (one: PartStory) => courseOf(one).steps.map(({ place }) => place);
const faults = (one: PartStory) => courseOf(one).faults.map(({ code }) => code);

const HELD = { at: day(3, 8), is: 'released', held: true } as const;
const LIFTED = { at: day(20), is: 'released', held: false, lifted: true } as const;
const OPEN: Partial<PartStory> = { standings: [] };
const fate = (as: 'tested' | 'retained' | 'scrapped', at: string) => ({ fate: { part: 'A', as, at, by: 'P' } });

it.each<[string, PartStory, string[]]>([
  ['planned only', story([], { madeAt: null, ...OPEN }), ['planned']],
  ['made', story([], OPEN), ['in process']],
  ['released', story([]), ['in process', 'in stock']],
  ['rejected', story([], { standings: [{ at: day(2), is: 'rejected', held: false }] }), ['in process', 'rejected']],
  ['scrapped', story([], { ...OPEN, ...fate('scrapped', day(3)) }), ['in process', 'scrapped']],
  ['handed over', story([handover('H1', day(3))]), ['in process', 'in stock', 'out']],
  [
    'implanted on the day of its handover, and explanted',
    story([outcome('explanted', '2031-04-09', 2), outcome('implanted', '2031-04-03'), handover('H1', day(3))]),
    ['in process', 'in stock', 'out', 'implanted', 'explanted'],
  ],
  [
    'not used, back, looked at, and handed over again',
    story([handover('H1', day(3)), outcome('not used', '2031-04-05'), back(day(6)), handover('H2', day(21))], {
      standings: [{ at: day(2), is: 'released', held: false }, { ...HELD, at: day(6, 11) }, LIFTED],
    }),
    ['in process', 'in stock', 'out', 'out', 'returned', 'in stock', 'out'],
  ],
  [
    'revoked while it is out: it is where it was',
    story([handover('H1', day(3))], {
      standings: [
        { at: day(2), is: 'released', held: false },
        { at: day(5), is: 'open', held: false },
      ],
    }),
    ['in process', 'in stock', 'out'],
  ],
  [
    'taken away unreleased, lost, found and implanted',
    story(
      [handover('H1', day(3), UNRELEASED), outcome('lost', '2031-04-04'), outcome('implanted', '2031-04-06', 2)],
      OPEN,
    ),
    ['in process', 'taken away unreleased', 'lost', 'implanted'],
  ],
  [
    'retained, then destroyed',
    story([disposal(day(9))], { ...OPEN, ...fate('retained', day(3)) }),
    ['in process', 'retained', 'destroyed'],
  ],
])('follows a unit that is %s', (_, one, expected) => {
  expect(faults(one)).toEqual([]);
  expect(places(one)).toEqual(expected);
});

it.each<[string, PartStory, string]>([
  ['handed over twice', story([handover('H1', day(3)), handover('H2', day(4))]), 'not there'],
  ['handed over unreleased', story([handover('H1', day(3))], OPEN), 'not released'],
  ['handed over before its release', story([handover('H1', day(1, 11))]), 'not released'],
  ['handed over on hold', story([handover('H1', day(3))], { standings: [{ ...HELD, at: day(2) }] }), 'on hold'],
  ['said to be unreleased and released', story([handover('H1', day(3), UNRELEASED)]), 'released after all'],
  ['handed over after it was scrapped', story([handover('H1', day(5))], fate('scrapped', day(4))), 'not there'],
  ['with a fate while it is out', story([handover('H1', day(3))], fate('scrapped', day(4))), 'not there'],
  ['of an outcome without its handover', story([outcome('implanted', '2031-04-03')]), 'another handover'],
  [
    'of an outcome before its handover',
    story([outcome('implanted', '2031-04-02'), handover('H1', day(3))]),
    'before handover',
  ],
  [
    'of an outcome under the handover before the last',
    story([handover('H1', day(3)), back(day(4)), handover('H2', day(21)), outcome('implanted', '2031-04-22')], {
      standings: [{ at: day(2), is: 'released', held: false }, { ...HELD, at: day(4, 11) }, LIFTED],
    }),
    'another handover',
  ],
  [
    'explanted and never implanted',
    story([handover('H1', day(3)), outcome('explanted', '2031-04-05')]),
    'not implanted',
  ],
  [
    'implanted twice',
    story([handover('H1', day(3)), outcome('implanted', '2031-04-05'), outcome('implanted', '2031-04-06', 2)]),
    'not there',
  ],
  ['returned and never out', story([back(day(3))]), 'never left'],
  [
    'returned out of a patient',
    story([handover('H1', day(3)), outcome('implanted', '2031-04-04'), back(day(6))]),
    'in a patient',
  ],
  ['destroyed while it is out', story([handover('H1', day(3)), disposal(day(4))]), 'not there'],
])('names a unit that is %s, and moves nothing', (_, one, fault) => {
  expect(faults(one)).toEqual([fault]);
});

it('is in one place at each moment', () => {
  const course = courseOf(story([handover('H1', day(3)), outcome('implanted', '2031-04-08')]));
  const at = (moment: string) => stepAt(course, moment)?.place;
  expect([day(1, 9), day(1), day(2), day(3, 9), day(3), day(7), day(8)].map((one) => at(one))).toEqual([
    undefined,
    'in process',
    'in stock',
    'in stock',
    'out',
    'out',
    'implanted',
  ]);
  expect(course.steps.at(-1)).toMatchObject({ by: { kind: 'outcome', key: 'A:1' }, holder: TO });
});

it('is the same in whatever order the documents are read', () => {
  const documents = [
    handover('H1', day(3)),
    outcome('not used', '2031-04-03'),
    back(day(6)),
    outcome('implanted', '2031-04-22', 2, 'H2'),
    handover('H2', day(21)),
  ];
  const standings = [{ at: day(2), is: 'released', held: false }, { ...HELD, at: day(6, 11) }, LIFTED] as const;
  const orders = permutations(documents);
  expect(orders).toHaveLength(120);
  const [first, ...others] = orders.map((order) => courseOf(story(order, { standings })));
  expect(first!.faults).toEqual([]);
  for (const other of others) expect(other).toEqual(first);
});

/** Fates that units can have had, each with its documents, and where the last of them leaves the unit. */
const FATES: readonly (readonly [MoveDocument[], Place])[] = [
  [[], 'in stock'],
  [[handover('H1', day(3))], 'out'],
  [[handover('H1', day(3)), outcome('implanted', '2031-04-08')], 'implanted'],
  [[handover('H1', day(3)), outcome('implanted', '2031-04-08'), outcome('explanted', '2031-04-09', 2)], 'explanted'],
  [[handover('H1', day(3)), outcome('destroyed there', '2031-04-05')], 'destroyed there'],
  [[handover('H1', day(3)), outcome('lost', '2031-04-05'), outcome('not used', '2031-04-06', 2)], 'out'],
  [[handover('H1', day(3)), outcome('lost', '2031-04-05')], 'lost'],
  [[handover('H1', day(3)), back(day(6))], 'returned'],
  [[disposal(day(4))], 'destroyed'],
];

it('counts every unit in one place, and none unaccounted but the lost ones, whatever the order of the documents', () => {
  const unit = fc
    .constantFrom(...FATES)
    .chain(([documents, place]) =>
      fc.tuple(fc.shuffledSubarray(documents, { minLength: documents.length }), fc.constant(place)),
    );
  fc.assert(
    fc.property(fc.array(unit, { minLength: 1, maxLength: 12 }), (units) => {
      const parts = units.map(([documents], index) => {
        const { steps, faults: contradicting } = courseOf(story(documents));
        return { key: `U${index}`, place: steps.at(-1)!.place, contradicted: contradicting.length > 0 };
      });
      expect(parts.map(({ place }) => place)).toEqual(units.map(([, place]) => place));
      const { made, places: counted, unaccounted } = balanceOf(parts);
      const lost = parts.filter(({ place }) => place === 'lost').map(({ key }) => key);
      expect(unaccounted).toEqual(lost);
      const known = counted.flatMap(({ parts: keys }) => keys);
      expect([...known, ...unaccounted].sort()).toEqual(parts.map(({ key }) => key).sort());
      expect(made).toBe(units.length);
    }),
    { seed: 20310404, numRuns: 200 },
  );
});

function permutations<T>(items: readonly T[]): T[][] {
  if (items.length === 0) return [[]];
  return items.flatMap((item, place) => permutations(items.toSpliced(place, 1)).map((rest) => [item, ...rest]));
}
