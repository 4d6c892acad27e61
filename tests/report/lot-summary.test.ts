import fc from 'fast-check';
import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { summaryOf } from '../../src/report/lot-summary.js';
import { notCheckedLines, summaryLines } from '../../src/report/summary-lines.js';
import { edited, factsOf } from '../support/lot-facts.js';

let facts: Facts;
let assessment: Assessment;

beforeAll(async () => {
  facts = await factsOf();
  assessment = assess(facts, '0'.repeat(64));
});

const OUTCOMES = ['passes', 'fails', 'cannot be decided', 'does not apply'] as const;
const VERDICTS = ['conforms', 'does not conform', 'cannot be decided'] as const;

/** The assessment with other outcomes and verdicts, drawn at random. */
const anyAssessment = fc
  .record({
    outcomes: fc.array(fc.constantFrom(...OUTCOMES), { minLength: 40, maxLength: 40 }),
    verdicts: fc.array(fc.constantFrom('conforms', ...VERDICTS), { minLength: 60, maxLength: 60 }),
  })
  .map(({ outcomes, verdicts }): Assessment => {
    let at = 0;
    return {
      ...assessment,
      checks: assessment.checks.map((check, index) => ({ ...check, outcome: outcomes[index % 40]! })),
      characteristics: assessment.characteristics.map((item) => ({
        ...item,
        values: item.values.map((value) => ({ ...value, verdict: verdicts[at++ % 60]! as never })),
      })),
    };
  });

it('no lot with a check that does not pass, or a value that does not conform, has an empty list of exceptions', () => {
  fc.assert(
    fc.property(anyAssessment, (drawn) => {
      const { exceptions } = summaryOf(facts, drawn);
      const checks = exceptions.flatMap((one) => (one.code === 'check' ? [one.check] : []));
      const rows = exceptions.flatMap((one) => (one.code === 'values' ? one.rows : []));
      const failing = drawn.checks.filter(({ outcome }) => outcome === 'fails' || outcome === 'cannot be decided');
      expect([...checks].sort()).toEqual(failing.map(({ code }) => code).sort());
      const outside = drawn.characteristics
        .flatMap(({ values }) => values)
        .filter(({ verdict, row }) => verdict !== 'conforms' && row !== null)
        .map(({ row }) => row!);
      expect([...new Set(rows)].sort()).toEqual([...new Set(outside)].sort());
      const lines = summaryLines({ exceptions }, facts);
      expect(lines).toHaveLength(exceptions.length);
      for (const { says, anchors } of lines) {
        expect(says).not.toMatch(/undefined|\band \d+ more\b|\bnone\b/);
        expect(anchors.length).toBeGreaterThan(0);
      }
    }),
    { seed: 15, numRuns: 60 },
  );
});

it('tells every value outside its limits with its row, however many there are', () => {
  const { characteristic, lower = '0' } = facts.specification.body.characteristics[0]!;
  const worse = edited(facts, (copy) => {
    for (const row of copy.results) if (row.characteristic === characteristic) row.value = `${Number(lower) / 2}`;
  });
  const told = summaryOf(worse, assess(worse, '0'.repeat(64))).exceptions.find((one) => one.code === 'values');
  const rows = worse.results.flatMap((row, index) => (row.characteristic === characteristic ? [index + 1] : []));
  expect(told).toMatchObject({ characteristic, verdict: 'does not conform', rows });
  expect(rows.length).toBeGreaterThan(0);
});

it('tells signals, missing uncertainty, late entries, corrections and results that no plan asks for', () => {
  const odd = edited(facts, (copy) => {
    copy.results[0].standardUncertainty = '';
    copy.results[1].recordedAt = '2039-01-01T00:00:00Z';
    copy.results[2].status = 'corrected';
  });
  const point = { lot: 'L-1', build: 'B', builtAt: '', specimen: 'X-1', value: 9, ofThisLot: true };
  const capability = [
    {
      ...({} as Assessment['capability'][number]),
      characteristic: facts.specification.body.characteristics[0]!.characteristic,
      points: [point],
      chart: { centre: 5, signals: [{ index: 1, rule: 'beyondLimit' }] } as never,
    },
  ];
  const { exceptions } = summaryOf(odd, { ...assessment, capability, characteristics: [] });
  const codes = exceptions.map(({ code }) => code);
  expect(codes).toEqual(expect.arrayContaining(['signal', 'no-uncertainty', 'late', 'corrected', 'not-judged']));
  const said = summaryLines({ exceptions }, odd).map(({ says }) => says);
  expect(said.find((says) => says.startsWith('Signal on the chart'))).toContain('X-1 at 9 beyond the upper limit');
});

it('names nothing of another case where that may not be told', () => {
  const serials = facts.lot.body.implants.map(({ serial }) => serial);
  const failing = {
    ...assessment,
    checks: assessment.checks.map((check) => ({ ...check, outcome: 'fails' as const, findings: [] })),
    characteristics: assessment.characteristics.map((item) => ({ ...item, verdict: 'does not conform' as const })),
  };
  const lines = summaryLines(summaryOf(facts, failing), facts, (part) => !serials.includes(part));
  for (const { says } of lines) for (const serial of serials) expect(says).not.toContain(serial);
});

it('says what no check of this version asks, each with a place in the record', () => {
  const { notChecked } = summaryOf(facts, assessment);
  const lines = notCheckedLines({ notChecked });
  expect(lines).toHaveLength(notChecked.length);
  expect(new Set(lines.map(({ says }) => says)).size).toBe(notChecked.length);
  for (const { anchors } of lines) expect(anchors[0]).toMatch(/^section /);
});
