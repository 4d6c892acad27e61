import { compareStatements } from '../../../src/assessment/family/compare-statements.js';
import type { CapabilityStatement } from '../../../src/assessment/family/statement.js';
import { familyStudy } from '../../../src/assessment/family/study.js';
import type { StudyInput } from '../../../src/assessment/family/study-input.js';
import { FamilyStudy } from '../../../src/assessment/family/study-result.js';
import { signalId } from '../../../src/dossier/signal-id.js';
import { ableText } from '../../../src/report/phrases/able.js';
import { changesTexts, statementNote } from '../../../src/report/phrases/statement-paper.js';
import { studyNoteText } from '../../../src/report/phrases/study-notes.js';
import { studyRows, studyTables } from '../../../src/report/study-rows.js';
import { exactLowerBound } from '../../../src/statistics/capability-bounds.js';
import { moments } from '../../../src/statistics/summary.js';
import { varianceComponents } from '../../../src/statistics/variance-components.js';
import { normalNumbers } from '../../support/numbers.js';
import { buildsOf, studyInput } from '../../support/study-input.js';

/** Ten tensile strengths: docs/trade.md 6.3, with the numbers of a hand computation beside them. */
const TEN = [231.4, 228.9, 233.0, 229.7, 230.5, 227.8, 232.2, 230.9, 229.1, 231.8];
const single = TEN.map((value) => [value]);

/** Thirty quiet builds of three, and then what a test wants. */
function quiet(builds: number, seed = 11): number[][] {
  const normal = normalNumbers(seed);
  return Array.from({ length: builds }, () => {
    const level = 231 + 0.8 * normal();
    return Array.from({ length: 3 }, () => Math.round(10 * (level + 1.2 * normal())) / 10);
  });
}
const OF_BUILDS = { subgroup: 'build', runRules: ['nineOneSide', 'ewma'] };

it('comes to the numbers that were worked out by hand: limits, index and bound of ten values', () => {
  const { chart, index } = familyStudy(studyInput(buildsOf(single), { baseline: 10 }));
  expect(chart.limits!.centre).toBeCloseTo(230.53, 9);
  expect(chart.limits!.lower).toBeCloseTo(223.558, 3);
  expect(chart.limits!.upper).toBeCloseTo(237.502, 3);
  expect(index.ppk).toBeCloseTo(3.1543, 4);
  expect(index.bounds.independent).toBeCloseTo(1.9038, 4);
  expect(index.says).toBe('able');
  expect(index).toMatchObject({ cpk: null, noCpk: 'too few points' });
  // Mean less 2.911 standard deviations at 95/95, one value a build.
  expect(index.tolerance).toMatchObject({ content: 0.95, upper: null });
  expect(index.tolerance!.lower).toBeCloseTo(225.75, 2);
});

it('keeps its limits when builds are added, and tells of a point beyond them', () => {
  const builds = [...quiet(24), [242, 243, 244], ...quiet(3, 12)];
  const before = familyStudy(studyInput(buildsOf(builds.slice(0, 24)), { plan: OF_BUILDS, baseline: 24 }));
  const after = familyStudy(studyInput(buildsOf(builds), { plan: OF_BUILDS, baseline: 24 }));
  expect(before.chart.signals).toEqual([]);
  expect({ ...after.chart.limits, withinUpper: [] }).toEqual({ ...before.chart.limits, withinUpper: [] });
  const beyond = after.chart.signals.filter(({ rule }) => rule === 'beyondLimit');
  expect(beyond).toMatchObject([{ lots: ['L-25'], points: ['B-25'], asks: true, outcome: null }]);
  expect(beyond[0]!.id).toBe(signalId('CAP-RM', 1, 'beyondLimit', ['B-25']));
});

it('states Cpk for at least 20 points in order without a signal, and none when one comes', () => {
  const builds = quiet(26);
  const found = familyStudy(studyInput(buildsOf(builds), { plan: OF_BUILDS, baseline: 24 })).index;
  const means = builds.map((values) => moments(values).mean);
  const ranges = means.slice(1).map((mean, index) => Math.abs(mean - means[index]!));
  const ofMeans = (moments(ranges).mean * Math.sqrt(Math.PI)) / 2;
  const within = builds.reduce((sum, values) => sum + moments(values).sumSquares, 0) / (2 * builds.length);
  const sigma = Math.sqrt(ofMeans ** 2 + (2 / 3) * within);
  expect(found.cpk!.value).toBeCloseTo((moments(builds.flat()).mean - 215) / (3 * sigma), 6);
  expect(found.cpk!.lower).toBeLessThan(found.cpk!.value);
  const shaken = familyStudy(studyInput(buildsOf([...builds, [235, 235, 235]]), { plan: OF_BUILDS, baseline: 24 }));
  expect(shaken.index).toMatchObject({ cpk: null, noCpk: 'signals' });
  expect(familyStudy(studyInput(buildsOf(builds.slice(0, 19)), { plan: OF_BUILDS, baseline: 19 })).index.noCpk).toBe(
    'too few points',
  );
});

it('takes builds as what is independent: components by restricted likelihood, and the lower of two bounds', () => {
  const builds = quiet(26);
  const { index } = familyStudy(studyInput(buildsOf(builds), { plan: OF_BUILDS, baseline: 24 }));
  const { within, between } = varianceComponents(builds, 'reml');
  expect(index.reml!.within).toBeCloseTo(Math.sqrt(within), 7);
  expect(index.reml!.between).toBeCloseTo(Math.sqrt(between), 7);
  expect(index.bounds.independent).toBeCloseTo(exactLowerBound(index.ppk!, 78, 0.95), 6);
  expect(index.ppkLower).toBe(Math.min(index.bounds.independent!, index.bounds.builds!));
  expect(index.spread!.effectiveValues).toBeLessThan(78);
});

it('says about how many more builds would show the target, and so many do by the same sum', () => {
  const input = studyInput(buildsOf(quiet(12)), {
    plan: { ...OF_BUILDS, target: '1.33' },
    item: { lower: '223' },
    baseline: 12,
  });
  const { index } = familyStudy(input);
  expect(index.says).toBe('too few');
  expect(index.ppk).toBeGreaterThan(1.33);
  expect(index.ppkLower).toBeLessThan(1.33);
  const total = 12 + index.more!.builds!;
  // As many builds again with the same values: the same mean and nearly the same spread.
  const often = Array.from({ length: Math.ceil((1.3 * total) / 12) }, () => quiet(12)).flat();
  const { index: later } = familyStudy({
    ...studyInput(buildsOf(often), { plan: OF_BUILDS, item: { lower: '223' }, baseline: 12 }),
  });
  expect(later.says).toBe('able');
});

it.each([
  ['machine', (index: number) => ({ machine: index % 2 ? 'M2' : 'M1' })],
  ['recipe', (index: number) => ({ recipeRevision: index < 12 ? 1 : 2 })],
] as const)('tries what is pooled over %s, and splits it where means differ', (factor, context) => {
  const plan = { ...OF_BUILDS, pools: { ...pools, machines: ['M1', 'M2'] } };
  const level = (index: number) => ('machine' in context(index) ? index % 2 : Number(index >= 12));
  const apart = quiet(24).map((values, index) => values.map((value) => value + 6 * level(index)));
  const study = familyStudy(studyInput(buildsOf(apart, context), { plan, baseline: 24 }));
  expect(study.trials.find((trial) => trial.factor === factor)).toMatchObject({ verdict: 'fails' });
  expect(study.index).toMatchObject({ says: 'not stated', ppk: null, cpk: null });
  expect(study.split.map(({ index }) => index.n)).toEqual([36, 36]);
  for (const { index } of study.split) expect(index.ppk).toBeGreaterThan(1);
  expect(study.notes.map(({ code }) => code)).toContain('pool fails');
  const alike = familyStudy(studyInput(buildsOf(quiet(24), context), { plan, baseline: 24 }));
  expect(alike.trials).toMatchObject([{ factor, verdict: 'nothing against it' }]);
  expect(alike.index.ppk).not.toBeNull();
  expect(alike.chart.changes.length).toBe(factor === 'machine' ? 23 : 1);
});
const { pools } = studyInput([], { baseline: 0 }).plan;

it('lists every build of the window, in or out, and none that is left out can be lost', () => {
  const rows = buildsOf(quiet(22), (index) => (index === 3 ? { machine: 'M9' } : {}));
  const study = familyStudy(
    studyInput(rows, {
      plan: OF_BUILDS,
      baseline: 20,
      more: { unassessed: [{ lot: 'L-X', builtAt: '2031-02-05T08:00:00Z' }] },
    }),
  );
  expect(study.listed).toHaveLength(22);
  expect(study.listed[3]).toMatchObject({ lot: 'L-4', leftOut: { code: 'machine', facts: { machine: 'M9' } } });
  expect(study.index.builds).toBe(21);
  expect(study.notes).toContainEqual({ code: 'lots missing', facts: { lots: ['L-X'] } });
});

it('flags limits that moved after the builds, a short baseline, and points that were known to whoever signed', () => {
  const earlier = {
    specification: 'SP',
    revision: 2,
    effectiveFrom: '2030-01-10T00:00:00Z',
    lower: '220',
    upper: null,
  };
  const notesWith = (earlierLimits: StudyInput['earlierLimits']) =>
    familyStudy(
      studyInput(buildsOf(quiet(14)), {
        plan: OF_BUILDS,
        baseline: 12,
        more: {
          earlierLimits,
          limits: { ...earlier, revision: 3, lower: '215', effectiveFrom: '2031-02-05T00:00:00Z' },
          approval: { at: '2031-02-13T20:00:00Z', code: 'P-QE', name: 'Quentin Example' },
        },
      }),
      false,
    ).notes;
  const same = { ...earlier, lower: '215' };
  expect(notesWith([same]).map(({ code }) => code)).not.toContain('limits moved');
  expect(notesWith([{ ...same, boundary: 'lower' }]).map(({ code }) => code)).toContain('limits moved');
  expect(notesWith([earlier])).toEqual([
    { code: 'short baseline', facts: { points: 12, least: 20 } },
    { code: 'data before the plan', facts: { points: 1 } },
    { code: 'limits moved', facts: { revision: 3, effectiveFrom: '2031-02-05T00:00:00Z', lots: 4 } },
  ]);
  // They moved with revision 2; revision 3 left them where they were, and lots between the two are judged by their own.
  const between = { ...same, revision: 2, effectiveFrom: '2031-02-03T00:00:00Z' };
  expect(notesWith([{ ...earlier, revision: 1 }, between])).toContainEqual({
    code: 'limits moved',
    facts: { revision: 2, effectiveFrom: '2031-02-03T00:00:00Z', lots: 2 },
  });
});

it('flags limits that moved by when they came on record, whatever day people typed', () => {
  const earlier = {
    specification: 'SP',
    revision: 1,
    effectiveFrom: '2030-01-10T00:00:00Z',
    lower: '220',
    upper: null,
  };
  const [atOnce, after] = ['2030-01-10T09:00:00Z', '2031-03-10T09:00:00Z'];
  const noteWith = (effectiveFrom: string, recordedAt: string) => {
    const limits = { ...earlier, revision: 2, lower: '215', effectiveFrom, recordedAt };
    const more = { earlierLimits: [{ ...earlier, recordedAt: atOnce }], limits };
    const study = familyStudy(studyInput(buildsOf(quiet(30)), { plan: OF_BUILDS, baseline: 24, more }), false);
    return study.notes.find(({ code }) => code === 'limits moved');
  };
  // The same day as before, and a day before it: both came when all thirty lots were there.
  for (const effectiveFrom of [earlier.effectiveFrom, '2029-12-01T00:00:00Z']) {
    const note = noteWith(effectiveFrom, after);
    expect(note).toEqual({
      code: 'limits moved',
      facts: { revision: 2, effectiveFrom, recordedAt: after, lots: 30 },
    });
    expect(studyNoteText(note!)).toContain(
      `in effect from ${effectiveFrom} and on record since ${after}; 30 lots were`,
    );
  }
  // It came on record before it took effect, and both before the lots.
  expect(noteWith('2030-02-01T00:00:00Z', atOnce)).toBeUndefined();
});

it('says of an index beside signals that it was so, and no more', () => {
  const builds = [...quiet(26), [235, 235, 235]];
  const { index } = familyStudy(studyInput(buildsOf(builds), { plan: OF_BUILDS, baseline: 24 }), false);
  expect([index.says, index.noCpk]).toEqual(['able', 'signals']);
  expect(ableText(index)).toContain('The chart has signals: it was so, and nothing is said of what will be made.');
  const still = familyStudy(studyInput(buildsOf(quiet(26)), { plan: OF_BUILDS, baseline: 24 }), false).index;
  expect(ableText(still)).not.toContain('signals');
  // Signals are told of too where Cpk is not stated for other reasons as well: of 16 points, and beside bounds.
  const few = [...quiet(15), [235, 235, 235]];
  const rows = buildsOf(few);
  const apart = [{ specimen: 'S-B', piece: '', replicate: 1, value: '>230', why: 'bound' as const }];
  for (const own of [rows, [{ ...rows[0]!, bounds: 1, beside: { apart } }, ...rows.slice(1)]]) {
    const found = familyStudy(studyInput(own, { plan: OF_BUILDS, item: { lower: '205' }, baseline: 14 }), false).index;
    expect([found.says, found.noCpk]).toEqual(['able', 'signals']);
    expect(ableText(found)).toContain('The chart has signals');
  }
});

it('says of a sum over further builds beside signals that it holds only while the process stays', () => {
  const says = (builds: readonly (readonly number[])[]) => {
    const input = studyInput(buildsOf(builds), { plan: OF_BUILDS, item: { lower: '223' }, baseline: 12 });
    const { index } = familyStudy(input, false);
    expect(index.says).toBe('too few');
    return ableText(index);
  };
  expect(says(quiet(14))).not.toContain('signals');
  expect(says([...quiet(14), [234, 234, 235]])).toContain('The chart has signals: the process moved meanwhile');
});

it('says of each group of a pool that fails whether a signal lies at points of it', () => {
  const groups = (last: number) => {
    // Machine M2 comes after all of M1, within what the rule calls chance.
    const builds = [...quiet(24), ...quiet(12, 12).map((values) => values.map((value) => value + last))];
    const rows = buildsOf(builds, (index) => ({ machine: index < 24 ? 'M1' : 'M2' }));
    const plan = { subgroup: 'build', runRules: ['beyondLimit'], pools: { ...pools, machines: ['M1', 'M2'] } };
    const study = familyStudy(studyInput(rows, { plan, item: { lower: '205' }, baseline: 24 }), false);
    return studyTables(study).split.map(({ name, says }) => [name, says.slice(0, 4), says.includes('signals')]);
  };
  expect(groups(9)).toEqual([
    ['M1', 'Able', false],
    ['M2', 'Able', true],
  ]);
});

it('gives values of one build alone no bound and no Cpk, and says why', () => {
  const { index } = familyStudy(studyInput(buildsOf([quiet(14).flat()]), { baseline: 1 }), false);
  expect(index).toMatchObject({ says: 'too few', ppkLower: null, cpk: null, noCpk: 'one build', silent: null });
  expect(ableText(index)).toContain('all values are of one build, which gives no bound');
});

it('joins a signal with its outcome, and keeps as was what a correction removed', () => {
  const rows = buildsOf([...quiet(24), [242, 243, 244]]);
  const outcomeOf = (point: string) => ({
    ...{ signal: signalId('CAP-RM', 1, 'beyondLimit', [point]), rule: 'beyondLimit', points: [point] },
    ...{ cause: 'the load cell drifted', outcome: 'measurement set right', by: 'P-PE', at: '2031-03-01T10:00:00Z' },
    revision: 1,
  });
  const { chart, was } = familyStudy(
    studyInput(rows, { plan: OF_BUILDS, baseline: 24, more: { outcomes: [outcomeOf('B-25'), outcomeOf('B-7')] } }),
  );
  expect(chart.signals.find(({ rule }) => rule === 'beyondLimit')!.outcome).toMatchObject({ by: 'P-PE' });
  expect(was).toMatchObject([{ points: ['B-7'], cause: 'the load cell drifted' }]);
});

it('takes the distribution that the plan names, by its percentiles', () => {
  const skewed = quiet(24).map((values) => values.map((value) => Math.exp((value - 231) / 3)));
  const { index } = familyStudy(
    studyInput(buildsOf(skewed), {
      plan: { ...OF_BUILDS, distribution: { name: 'lognormal', why: 'seen in the validation' } },
      item: { lower: undefined, upper: '30', direction: 'lower-is-better' },
      baseline: 24,
    }),
  );
  expect(index.ppk).toBeNull();
  const logs = skewed.flat().map(Math.log);
  const { mean, sumSquares, n } = moments(logs);
  const sd = Math.sqrt(sumSquares / n);
  const [middle, high] = [Math.exp(mean), Math.exp(mean + 3 * sd)];
  expect(index.percentile!.ppk).toBeCloseTo((30 - middle) / (high - middle), 5);
});

it.each([
  ['no build', [], 0],
  ['one build', quiet(1), 1],
  ['all equal', Array.from({ length: 12 }, () => [230, 230]), 12],
  ['one value', [[230]], 1],
] as const)('states no index and no number that is none for %s', (_, builds, baseline) => {
  const study = familyStudy(studyInput(buildsOf(builds), { plan: OF_BUILDS, baseline }));
  expect(study.index).toMatchObject({ ppkLower: null, says: 'not stated', cpk: null });
  expect(FamilyStudy.parse(JSON.parse(JSON.stringify(study)))).toEqual(study);
});

it('takes no limit that no value can pass for a side of the index, and has no Cp', () => {
  const builds = quiet(26).map((own) => own.map((value) => 0.08 + (value - 231) / 100));
  const statementOf = (item: Readonly<Record<string, unknown>>, number = 1) => {
    const input = studyInput(buildsOf(builds), { plan: OF_BUILDS, item, baseline: 24 });
    return { number, input, study: familyStudy(input, false) } as CapabilityStatement;
  };
  const of = (item: Readonly<Record<string, unknown>>) => statementOf(item).study.index;
  const one = of({ lower: undefined, upper: '0.2', direction: 'lower-is-better' });
  const both = of({ lower: '0', upper: '0.2', direction: 'lower-is-better' });
  const bounded = of({ lower: '0', upper: '0.2', boundary: 'lower', direction: 'lower-is-better' });
  expect({ ...bounded, within: null }).toEqual({ ...one, within: null });
  expect(both.ppk!).toBeLessThan(one.ppk!);
  // What people read is of that side too, and says so.
  const limits = { lower: '0', upper: '0.2', direction: 'lower-is-better' };
  const told = statementOf({ ...limits, boundary: 'lower' }, 2);
  expect(statementNote(told)).toContain('Its "boundary" is "lower"');
  expect(statementNote(told)).toContain(`   Ppk is (upper - mean) / (3 sd):\n   ${bounded.ppk}\n`);
  expect(statementNote(statementOf(limits))).toContain('the smaller of (mean - lower) / (3 sd) and (upper - mean)');
  expect(new Map(studyRows(told.input, told.study)).get('Ppk')).toContain('of the upper limit alone');
  expect(changesTexts(compareStatements(statementOf(limits), told))).toContain(
    'The specified limits were at least 0 and at most 0.2, and are at least 0 (which no value can pass) and at most 0.2.',
  );
  expect(Object.keys(FamilyStudy.shape.index.shape)).not.toContain('cp');
});

it('lets bounds make no family able whose values are not normal, or cannot be tried', () => {
  const of = (builds: readonly (readonly number[])[], bounded: number) => {
    const rows = buildsOf(builds).map((row, index) => {
      if (index >= bounded) return row;
      const one = { specimen: `B-${index}`, piece: '', replicate: 1, value: '>220', why: 'bound' as const };
      return { ...row, bounds: 1, beside: { apart: [one] } };
    });
    const study = familyStudy(studyInput(rows, { plan: OF_BUILDS, item: { lower: '100' }, baseline: 22 }), false);
    return { ...study, codes: [...study.notes, ...study.index.notes].map(({ code }) => code) };
  };
  const normal = quiet(24);
  const skewed = normal.map((own) => own.map((value) => 225 + Math.exp((value - 231) / 1.5)));
  expect(of(normal, 1).index).toMatchObject({ says: 'able', bounded: 1, normality: { values: 72 } });
  const out = of(skewed, 1);
  expect(out.index).toMatchObject({ says: 'not stated', ppk: null });
  expect(out.index.normality!.p).toBeLessThan(0.05);
  expect(out.codes).toContain('not normal');
  expect(out.codes).not.toContain('bounds counted');
  const untried = of(skewed, 20);
  expect(untried.index).toMatchObject({ says: 'not stated', normality: null, ppk: expect.any(Number) });
  expect(ableText(untried.index)).toMatch(/^Nothing is stated with confidence: Ppk is /);
});

it('counts a value more, and hides no lot, when one is added inside the limits', () => {
  const builds = quiet(24);
  const of = (values: number[][]) =>
    familyStudy(studyInput(buildsOf(values), { plan: OF_BUILDS, item: { upper: '250' }, baseline: 20 }), false);
  const before = of(builds);
  for (const [place, value] of [
    [0, 216],
    [7, 231],
    [19, 249.9],
    [23, 215],
  ] as const) {
    const after = of(builds.map((own, index) => (index === place ? [...own, value] : own)));
    expect(after.index.n).toBe(before.index.n + 1);
    expect(after.index.builds).toBe(before.index.builds);
    expect(after.listed.map(({ lot, leftOut }) => [lot, leftOut])).toEqual(
      before.listed.map(({ lot, leftOut }) => [lot, leftOut]),
    );
    expect(after.chart.points).toHaveLength(before.chart.points.length);
  }
});

it('moves with shift and scale of the values, and keeps its indices', () => {
  const builds = quiet(26);
  const item = { lower: '223', upper: '240', direction: 'nominal-is-best' };
  const as = (scale: number, shift: number) =>
    familyStudy(
      studyInput(buildsOf(builds.map((values) => values.map((value) => value * scale + shift))), {
        plan: OF_BUILDS,
        item: { ...item, lower: String(223 * scale + shift), upper: String(240 * scale + shift) },
        baseline: 24,
      }),
    );
  const [plain, moved] = [as(1, 0), as(2, -400)];
  for (const name of ['ppk', 'ppkLower'] as const) expect(moved.index[name]).toBeCloseTo(plain.index[name]!, 6);
  expect(moved.index.cpk!.value).toBeCloseTo(plain.index.cpk!.value, 6);
  expect(moved.chart.limits!.centre).toBeCloseTo(2 * plain.chart.limits!.centre - 400, 5);
});
