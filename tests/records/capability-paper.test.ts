import { compareStatements } from '../../src/assessment/family/compare-statements.js';
import { type CapabilityStatement, statementOf } from '../../src/assessment/family/statement.js';
import { familyStudy } from '../../src/assessment/family/study.js';
import type { StudyInput } from '../../src/assessment/family/study-input.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { renderCapability } from '../../src/records/capability/render.js';
import { sinceStated } from '../../src/records/capability/since-stated.js';
import { changesTexts, sinceTexts } from '../../src/report/phrases/statement-paper.js';
import { normalNumbers } from '../support/numbers.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects } from '../support/pdf-objects.js';
import { buildsOf, studyInput } from '../support/study-input.js';
import { withTool } from '../support/tools.js';

const normal = normalNumbers(21);
const values = Array.from({ length: 30 }, () => [0, 1, 2].map(() => Math.round(10 * (231 + 1.2 * normal())) / 10));
const inputOf = (builds: readonly (readonly number[])[], given: Partial<Parameters<typeof studyInput>[1]> = {}) =>
  studyInput(buildsOf(builds), { plan: { subgroup: 'build' }, baseline: 22, ...given });
const stated = (input: StudyInput, number = 1, previous: string | null = null): CapabilityStatement =>
  statementOf(input, familyStudy(input), {
    ...{ number, previous, program: 'Lotwright' },
    ledger: { size: 40, root: 'ab'.repeat(32) },
  });
/** How the gauge was calibrated, as it is on record of some lots. */
const withRig = (input: StudyInput, known: readonly string[]): StudyInput => ({
  ...input,
  rows: input.rows.map((row) => {
    const calibrated = [{ instrument: 'RIG', at: known.includes(row.lot) ? '2030-11-01T08:00:00Z' : null }];
    const nothing = { powder: [], maintained: null, worn: [], batches: [], measured: null };
    return { ...row, beside: { made: { ...nothing, operator: 'P-OP', analysts: ['P-AN'], calibrated } } };
  }),
});
const first = stated(inputOf(values.slice(0, 24)));

describe('compared with the one before', () => {
  const compared = (input: StudyInput) => changesTexts(compareStatements(first, stated(input, 2))).join('\n');

  it('says that nothing is otherwise where nothing is', () => {
    expect(compared(inputOf(values.slice(0, 24)))).toBe(
      'Statement 1 was before it.\nNothing that is compared is otherwise.',
    );
  });

  it.each<[string, StudyInput, string]>([
    ['lots that came', inputOf(values.slice(0, 26)), 'New in its window: lots L-25, L-26.'],
    ['a lot that went', inputOf(values.slice(0, 23)), 'No more in its window: lot L-24.'],
    [
      'a value that was corrected',
      inputOf(values.slice(0, 24).map((own, index) => (index === 23 ? [229.9, ...own.slice(1)] : own))),
      'Otherwise than before, lot L-24: other values.',
    ],
    [
      'limits',
      inputOf(values.slice(0, 24), { item: { lower: '217' } }),
      'The specified limits were at least 215, and are at least 217.',
    ],
    [
      'a plan',
      inputOf(values.slice(0, 24), { plan: { subgroup: 'build', revision: 2 } }),
      'The plan was CAP-RM revision 1, and is CAP-RM revision 2.',
    ],
    [
      'a signal',
      inputOf([...values.slice(0, 24), [250, 251, 250]]),
      'New signal at B-25: a point beyond the limits of the chart.',
    ],
    [
      'a longer baseline',
      inputOf(values.slice(0, 24), { baseline: 24 }),
      'The baseline fixes other limits of the chart.',
    ],
  ])('tells of %s', (_, input, says) => {
    expect(compared(input)).toContain(says);
  });
});

it('says of which lots what is known beside the values is otherwise: a calibration that was entered later', () => {
  const input = inputOf(values.slice(0, 24));
  const [before, now] = [stated(withRig(input, ['L-2']), 1), stated(withRig(input, ['L-2', 'L-5', 'L-7']), 2)];
  expect(changesTexts(compareStatements(before, now)).slice(1)).toEqual([
    'Otherwise than before, lots L-5, L-7: another calibration of a gauge on record.',
  ]);
});

describe('what came to be known since', () => {
  const row = { characteristic: 'rm', status: 'current', instrument: 'LC-1', measuredAt: '2031-02-04T09:00:00Z' };
  const impact = {
    ...{
      impact: 'IMP-1',
      cause: { kind: 'instrument', key: 'LC-1' },
      from: '2031-02-01T00:00:00Z',
      to: '2031-02-10T00:00:00Z',
    },
    ...{ lots: ['L-3'], conclusion: 'no effect (invented)' },
  };
  const lot = (family: string, closedAt: string) => ({ family, builds: [{ closedAt }] });
  const since = (told: {
    impact?: object;
    row?: object;
    lots?: [string, object][];
    built?: string[];
    latest?: number;
  }) =>
    sinceStated(
      {
        entries: {
          tiedToAny: async (_kind: string, _of: string, counted: readonly string[]) =>
            [{ key: 'IMP-1', body: { ...impact, ...told.impact } }].filter(({ body }) =>
              body.lots.some((lot: string) => counted.includes(lot)),
            ),
          tiedTo: async () => [],
          current: async (_: string, key: string) => ({ body: new Map(told.lots).get(key) }),
        },
        histories: {
          buildsOf: async () => [(told.built ?? []).map((name) => ({ lot: name, builtAt: '2031-02-06T08:00:00Z' }))],
          lotsWithout: async () => (told.lots ?? []).map(([key]) => key),
        },
        results: { ofLot: async () => ({ rows: [{ ...row, ...told.row }] }) },
        capabilityStatements: { latest: async () => ({ number: told.latest ?? 1 }) },
      } as never,
      first,
    ).then((found) => sinceTexts(found));

  it('names an impact that touches a result which counts', async () => {
    expect(await since({})).toEqual([
      'Impact IMP-1 (instrument LC-1 was found off) touches results that count here, of lot L-3: no effect (invented)',
    ]);
  });

  it.each([
    ['of another instrument', { row: { instrument: 'LC-2' } }],
    ['of another time', { row: { measuredAt: '2031-02-11T09:00:00Z' } }],
    ['of another characteristic', { row: { characteristic: 'sa' } }],
    ['that a correction replaced', { row: { status: 'superseded' } }],
    ['of a lot that it does not count', { impact: { lots: ['L-99'] } }],
  ])('is silent on a result %s', async (_, told) => {
    expect(await since(told)).toEqual([]);
  });

  it('names lots of its window that it did not know, and the statement in its place', async () => {
    const lots: [string, object][] = [
      ['L-LATE', lot('PLATE', '2031-02-05T08:00:00Z')],
      ['L-AFTER', lot('PLATE', '2032-01-01T08:00:00Z')],
      ['L-OTHER', lot('SCREW', '2031-02-05T08:00:00Z')],
      ['L-3', lot('PLATE', '2031-02-03T08:00:00Z')],
    ];
    expect(await since({ lots, built: ['L-3', 'L-CAME'], latest: 2, impact: { lots: [] } })).toEqual([
      'Statement 2 took its place.',
      'Of its window, lots L-CAME, L-LATE were not known when it was stated: state it again.',
    ]);
  });
});

const second = stated(inputOf(values), 2, sha256Hex(canonicalJson(first)));
const draw = () =>
  renderCapability({
    ...{ statementText: canonicalJson(second), previousText: canonicalJson(first) },
    issue: {
      ...{ draft: true, demo: false, program: 'Lotwright', node: '20', printedBy: 'local:tester' },
      ...{
        printedAt: '2031-04-01T10:00:00Z',
        printedOffset: '+02:00',
        signatures: [],
        keys: [],
        people: [],
        seal: null,
      },
      ledger: { size: 40, root: 'ab'.repeat(32), checkpoint: null, proofs: [] },
      ...{ since: { impacts: [], lots: [], later: null }, caution: 'Read with care.' },
    },
  });

withTool('qpdf', 'the paper', () => {
  it('is made to the rules of PDF/A and PDF/UA', async () => {
    expect(checkPdf(PdfObjects.read(Buffer.from((await draw()).pdf)))).toEqual([]);
  });
});

it('is the same bytes however often it is drawn, and carries every row', async () => {
  const [one, again] = [await draw(), await draw()];
  expect(Buffer.from(one.pdf).equals(Buffer.from(again.pdf))).toBe(true);
  expect(
    JSON.parse(one.enclosureText)
      .attachments.map(({ sha256 }: { sha256: string }) => sha256)
      .slice(0, 2),
  ).toEqual([sha256Hex(canonicalJson(second)), sha256Hex(canonicalJson(first))]);
});
