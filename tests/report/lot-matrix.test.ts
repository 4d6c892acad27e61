import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { ASPECTS, lotMatrix } from '../../src/report/lot-matrix.js';
import { timelineFigures } from '../../src/report/lot-timeline.js';
import { edited, factsOf } from '../support/lot-facts.js';

let facts: Facts;
let assessment: Assessment;
let units: string[];

beforeAll(async () => {
  facts = await factsOf();
  assessment = assess(facts, '0'.repeat(64));
  units = facts.lot.body.implants.map(({ serial }) => serial);
});

it('has a row for every aspect and every characteristic, with a cell for each implant', () => {
  const rows = lotMatrix(facts, assessment, units);
  expect(rows).toHaveLength(ASPECTS.length + facts.specification.body.characteristics.length);
  for (const { cells } of rows) expect(cells).toHaveLength(units.length);
});

it('shows every finding against an implant in a cell of that implant alone', () => {
  for (const { code } of assessment.checks.filter((check) => check.code !== 'acceptance')) {
    const finding = { id: 'x', rule: 'x', subjects: [], facts: {}, mayBeDecided: 'no', decision: null } as const;
    const one = { ...finding, subjects: [], effect: 'cannot be decided' as const, units: [units[0]!] };
    const checks = assessment.checks.map((check) => ({
      ...check,
      outcome: check.code === code ? ('cannot be decided' as const) : ('passes' as const),
      findings: check.code === code ? [one] : [],
    }));
    const rows = lotMatrix(facts, { ...assessment, checks, characteristics: [] }, units);
    const against = rows.flatMap(({ cells }) =>
      cells.map(({ state }, at) => (state === 'cannot be decided' ? at : -1)),
    );
    expect([code, against.filter((at) => at >= 0)]).toEqual([code, [0]]);
  }
});

it('says that a finish was done as soon as a step of it is on record, and for which implants', () => {
  const [first, second] = units as [string, string];
  const finish = (steps: object[]) => {
    const of = edited(facts, (copy) => {
      copy.lot.body.steps = steps as never;
    });
    const row = lotMatrix(of, assessment, [first, second]).find(
      ({ of: asked }) => 'aspect' in asked && asked.aspect === 'finish',
    );
    return row!.cells.map(({ state }) => state);
  };
  const clean = { step: 'clean', at: '2031-03-04T09:00:00Z', by: 'P-OP' };
  expect(finish([])).toEqual(['does not apply', 'does not apply']);
  expect(finish([{ ...clean, step: 'pack' }])).toEqual(['does not apply', 'does not apply']);
  expect(finish([{ ...clean, parts: [second] }])).toEqual(['does not apply', 'only-done']);
  expect(finish([clean])).toEqual(['only-done', 'only-done']);
});

it('draws what was entered late as late, and what is recorded at once as not', () => {
  const late = (of: Facts) => {
    const [figure] = timelineFigures({ facts: of, signatures: [], states: [], isTold: () => true });
    return Number(/; (\d+) were entered late/.exec(figure!.alt)![1]);
  };
  const at = (recordedAt: string) =>
    edited(facts, (copy) => {
      copy.lateFacts = [];
      copy.lot.revision = 2;
      for (const row of copy.results) row.recordedAt = recordedAt || row.measuredAt;
    });
  expect(late(at(''))).toBe(0);
  expect(late(at('2039-01-01T00:00:00Z'))).toBe(new Set(facts.results.map((row) => row.characteristic)).size);
});
