import { vi } from 'vitest';
import { acceptAll } from '../../src/assessment/acceptance.js';
import { assess } from '../../src/assessment/assess.js';
import type { PlanVerdict } from '../../src/assessment/assessment.js';
import { familyCapability } from '../../src/assessment/capability.js';
import { judgeValue } from '../../src/assessment/judge-value.js';
import { everyUnit } from '../../src/assessment/plans/every-unit.js';
import { pooledValidation } from '../../src/assessment/plans/process-validation.js';
import { singleSampling } from '../../src/assessment/plans/single-sampling.js';
import { toleranceInterval } from '../../src/assessment/plans/tolerance-interval.js';
import { variables } from '../../src/assessment/plans/variables.js';
import { zeroAcceptance } from '../../src/assessment/plans/zero-acceptance.js';
import { PlanOutcome, type ValidationFault, type ValueReason } from '../../src/assessment/reasons.js';
import { digestOf } from '../../src/dossier/canonical.js';
import type { Facts } from '../../src/dossier/facts.js';
import { type ExclusionReason, excludedBecause, type HistoryContext, poolOfRule } from '../../src/dossier/pool.js';
import type { Characteristic, Plan } from '../../src/kinds/specification.js';
import * as capability from '../../src/report/phrases/capability.js';
import { capabilityNoteText, exclusionText } from '../../src/report/phrases/capability.js';
import { findingText, layersText } from '../../src/report/phrases/log-finding.js';
import * as plans from '../../src/report/phrases/plans.js';
import { planRuleText, planText, validationFaultText } from '../../src/report/phrases/plans.js';
import * as values from '../../src/report/phrases/values.js';
import { valueText } from '../../src/report/phrases/values.js';
import { characteristic, sampleOf } from '../support/characteristics.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { signedFacts } from '../support/signed-facts.js';

type ByCode<Reason extends { code: string; facts: object }> = {
  readonly [Code in Reason['code']]: Extract<Reason, { code: Code }>['facts'];
};

let facts: Facts;
beforeAll(async () => {
  facts = signedFacts(await factsOf());
});

describe('words about one value', () => {
  const item = characteristic({ lower: '215', method: { method: 'TM-T', revision: 1 } });
  const missing = {
    found: 3,
    missing: 2,
    rows: [{ from: 4, to: 6 }],
    leftOut: [{ piece: 'B', replicate: 3, row: 6, numbers: [{ from: 1, to: 2 }] }],
  };
  // A code without an example here does not compile.
  const EXAMPLES: ByCode<ValueReason> = {
    inside: {},
    outside: { meanOf: 3 },
    'only a bound': { value: '<231' },
    'inside by more than the guard band': {},
    'outside by more than the guard band': {},
    'within the guard band': {},
    'no uncertainty': {},
    missing: {},
    'before rework': { instruction: 'RW rev 1', at: '2031-03-06T09:00:00+01:00' },
    'after rework': { instruction: 'RW rev 1', at: '2031-03-06T09:00:00+01:00' },
    'invalid test': { cause: 'slip in the grip', decidedBy: 'P-QE' },
    'other method': { row: 4, method: 'TM-X', revision: '2' },
    'study in another unit': { study: 'EQ rev 1', ucum: 'mm' },
    incomplete: missing,
    'bound in a mean': { value: '>230' },
  };
  const said = Object.entries(EXAMPLES).map(([code, given]) => [
    code,
    valueText(item, { why: { code, facts: given } as ValueReason, compared: '214.3' }),
  ]);

  it('differ by code, and leave nothing undefined', () => {
    expect(new Set(said.map(([, words]) => words)).size).toBe(said.length);
    for (const [, words] of said) expect(words).not.toMatch(/undefined|NaN|\[object/);
  });

  it.each([
    ['inside', 'keeps at least 215 MPa'],
    ['outside', 'mean of 3 values 214.3 misses at least 215 MPa'],
    ['only a bound', 'reported only as <231: whether it keeps at least 215 MPa is open'],
    ['invalid test', 'invalid test: slip in the grip (decided by P-QE); not in the acceptance set'],
    ['other method', 'measured by TM-X revision 2, planned TM-T revision 1'],
    [
      'incomplete',
      '3 values are there (results 4 to 6), 1 are planned, and numbers are left out: piece B has replicate 3 (result 6) ' +
        'and no 1, 2 (replicates are numbered from 1 on in each piece, and the planned number counts over all pieces)',
    ],
  ])('say all that was found: %s', (code, words) => expect(said).toContainEqual([code, words]));

  it('follow what the decision rule comes to', () => {
    const guarded = { ...item, decision: { rule: 'guarded', confidence: '0.95' } } as Characteristic;
    const words = (value: string, uncertainty: string) => valueText(guarded, judgeValue(guarded, value, uncertainty));
    expect([words('220', '1'), words('215.5', '1'), words('210', '1'), words('220', '')]).toEqual([
      'keeps at least 215 MPa by more than the guard band',
      'within the guard band around at least 215 MPa',
      'misses at least 215 MPa by more than the guard band',
      'the decision rule is guarded and the measurement uncertainty is missing',
    ]);
  });
});

describe('words about a plan', () => {
  const item = characteristic({ lower: '215' });
  const guarded = characteristic({ lower: '225', decision: { rule: 'guarded', confidence: '0.95' } });
  const of = (count: number, value = '231'): string[] => Array(count).fill(value);
  const TOLERANCE = { rule: 'tolerance-interval', confidence: '0.95', reliability: '0.95' } as const;
  const ZERO = { rule: 'zero-acceptance', confidence: '0.95', reliability: '0.9', of: 'process' } as const;
  /** So near to all that none of five units may fail: no number of them shows it. */
  const ALMOST_ALL = { ...ZERO, of: 'lot', reliability: '0.9999999999999' } as const;
  const SINGLE = { rule: 'single-sampling', n: 5, accept: 1 } as const;
  const VARIABLES = { rule: 'variables', n: 5, k: '1.53' } as const;
  const POOLED = {
    rule: 'process-validation',
    validation: 'PV',
    confidence: '0.95',
    reliability: '0.95',
    agreement: '0.99',
  } as const;
  const STRENGTHS = ['231.4', '228.9', '233.0', '229.7', '230.5', '227.8', '232.2', '230.9', '229.1', '231.8'];

  /** Each outcome, come to by the plan itself. */
  function provoked(): [Plan, Characteristic, PlanVerdict][] {
    const rm = { ...facts.specification.body.characteristics[0]!, plan: POOLED } as Characteristic;
    const closedAt = facts.lot.body.builds[0]!.closedAt;
    const pooled = (values: readonly string[], change: (copy: Editable) => void = () => {}, at = closedAt) =>
      pooledValidation(POOLED, sampleOf(rm, values), edited(facts, change), at);
    const validation = (copy: Editable) => copy.validations.get('PV rev 1').body;
    const spread = (sd: string) => (copy: Editable) => {
      validation(copy).shown[0].sd = sd;
    };
    return [
      ['every-unit', item, everyUnit(sampleOf(item, ['231', '']))],
      [TOLERANCE, item, toleranceInterval(TOLERANCE, sampleOf(item, STRENGTHS))],
      [TOLERANCE, guarded, toleranceInterval(TOLERANCE, sampleOf(guarded, STRENGTHS, '1'))],
      [TOLERANCE, guarded, toleranceInterval(TOLERANCE, sampleOf(guarded, STRENGTHS))],
      [TOLERANCE, item, toleranceInterval(TOLERANCE, sampleOf(item, [...of(3), '', '', '', '', '', '', '']))],
      [TOLERANCE, item, toleranceInterval(TOLERANCE, sampleOf(item, [...STRENGTHS, '>230']))],
      [TOLERANCE, item, toleranceInterval(TOLERANCE, sampleOf(item, ['231']))],
      [VARIABLES, item, variables(VARIABLES, sampleOf(item, ['231', '214', '220', '216', '219']))],
      [VARIABLES, item, variables(VARIABLES, sampleOf(item, of(5)))],
      [SINGLE, item, singleSampling(SINGLE, sampleOf(item, of(5)))],
      [SINGLE, item, singleSampling(SINGLE, sampleOf(item, of(3, '210')))],
      [SINGLE, item, singleSampling(SINGLE, sampleOf(item, of(4)))],
      [ZERO, item, zeroAcceptance(ZERO, sampleOf(item, of(29)))],
      [ZERO, item, zeroAcceptance(ZERO, sampleOf(item, of(28)))],
      [ZERO, item, zeroAcceptance(ZERO, sampleOf(item, [...of(28), '']))],
      [ZERO, item, zeroAcceptance(ZERO, sampleOf(item, [...of(28), '210']))],
      [ALMOST_ALL, item, zeroAcceptance(ALMOST_ALL, sampleOf(item, of(5)))],
      [POOLED, rm, pooled(['231', '230'])],
      [POOLED, rm, pooled(['216', '230'])],
      [POOLED, rm, pooled(['200', '230'])],
      [POOLED, rm, pooled(['231', ''])],
      [POOLED, rm, pooled(['231', '>230'])],
      [POOLED, rm, pooled(['231', '230'], spread('8'))],
      [POOLED, rm, pooled(['231', '<230'])],
      [POOLED, rm, pooled(['231', '230'], (copy) => validation(copy).shown.splice(0))],
      [POOLED, rm, pooled(['231', '230'], () => {}, '2030-01-01T00:00:00Z')],
    ].map(([plan, about, verdict]) => [
      plan as Plan,
      { ...(about as Characteristic), plan: plan as Plan },
      verdict as PlanVerdict,
    ]);
  }

  it('exist for every outcome, and leave nothing undefined', () => {
    const found = provoked();
    expect(new Set(found.map(([, , { outcome }]) => outcome))).toEqual(new Set(PlanOutcome.options));
    for (const [plan, about, verdict] of found) {
      const words = `${planRuleText(plan)}: ${planText(about, verdict)}`;
      expect(words).not.toMatch(/undefined|NaN|\[object|: $/);
    }
  });

  it('are those that people read until now', () => {
    const words = provoked().map(([, about, verdict]) => planText(about, verdict));
    expect(words).toEqual(
      expect.arrayContaining([
        '1 of 2 planned values conform; each must. W1: 0 of 1 planned values are there',
        'all values are equal: the spread is zero',
        '3 specimens fail, at most 1 may',
        '4 specimens are there, 5 are needed',
        '29 specimens conform, 29 are needed, none fails',
        '1 specimens cannot be decided: W28: 0 of 1 planned values are there',
        'a build of 5 units cannot show a reliability of 0.9999999999999',
        'a value misses its limits: the process may have moved',
        '1 values, the plan needs 2',
      ]),
    );
    expect(words[4]).toMatch(/; and 2 more specimens$/);
  });
});

it('words about a process validation say which one and why', () => {
  const times = { approvedAt: '2031-02-01T09:00:00+01:00', closedAt: '2031-01-01T09:00:00+01:00' };
  const EXAMPLES: ByCode<ValidationFault> = {
    'not in the lot file': { validation: 'PV' },
    'not approved': { validation: 'PV' },
    'approved after the build': { validation: 'PV', ...times },
    'not valid on the build date': {
      validation: 'PV',
      from: times.approvedAt,
      until: times.approvedAt,
      closedAt: times.closedAt,
    },
  };
  const said = Object.entries(EXAMPLES).map(([code, given]) =>
    validationFaultText({ code, facts: given } as ValidationFault),
  );
  expect(new Set(said).size).toBe(said.length);
  for (const words of said) expect(words).toMatch(/^process validation PV (?!.*undefined)/);
});

describe('words about the family', () => {
  it('say of every value that is left out why', () => {
    const [item] = facts.specification.body.characteristics;
    const rule = { ...facts.specification.body.pooling, methodRevisions: 'same' as const, from: '2031-01-01' };
    const admitted: HistoryContext = {
      recipeGroup: rule.recipeGroups[0]!,
      machine: rule.machines[0]!,
      recipe: 'any',
      recipeRevision: 9,
      method: item!.method.method,
      methodRevision: item!.method.revision,
      ucum: item!.ucum,
      zoneClass: 'span',
      exposed: { medium: 'SBF', mediumRevision: 1, hours: 336, face: 'peened', temperatureC: 37 },
    };
    const exposed = { medium: 'SBF', mediumRevision: 1, hours: 336, face: 'peened', temperatureC: 37 };
    const pool = {
      ...poolOfRule(rule, item!),
      zoneClasses: ['span'],
      medium: 'SBF',
      hours: 336,
      face: 'peened',
      sterilised: false,
      flow: 'at rest',
      gas: 'none named',
      temperatureC: 37,
    };
    const after = '2031-01-05T00:00:00Z';
    const CASES: Record<
      Exclude<ExclusionReason['code'], 'built before' | 'only a bound'>,
      [Partial<HistoryContext>, string]
    > = {
      'recipe group': [{ recipeGroup: 'G9' }, 'recipe group G9 is not pooled'],
      machine: [{ machine: 'M9' }, 'machine M9 is not pooled'],
      'other method': [{ method: 'TM-9' }, 'measured by TM-9'],
      'other revision': [{ methodRevision: 9 }, `measured by revision 9 of ${item!.method.method}`],
      'zone class': [{ zoneClass: 'skin' }, 'zone class skin is not pooled'],
      'other unit': [{ ucum: 'kPa' }, 'recorded in kPa'],
      medium: [{ exposed: { ...exposed, medium: 'HBSS' } }, 'medium HBSS is not pooled'],
      exposure: [{ exposed: { ...exposed, hours: 672 } }, 'exposed for another time: 672 h'],
      face: [{ exposed: { ...exposed, face: 'milled' } }, 'face milled is not pooled'],
      sterilisation: [{ exposed: { ...exposed, sterilised: true } }, 'sterilised before, which is not pooled'],
      flow: [{ exposed: { ...exposed, flowMlPerMin: '5.0' } }, 'medium flowing at 5 mL/min, which is not pooled'],
      gas: [{ exposed: { ...exposed, gas: 'nitrogen' } }, 'gas above the medium nitrogen, which is not pooled'],
      temperature: [{ exposed: { ...exposed, temperatureC: 39.1 } }, 'medium at 39.1 °C, which is not pooled'],
    };
    expect(excludedBecause(pool, admitted, after)).toBeUndefined();
    for (const [code, [spoilt, words]] of Object.entries(CASES)) {
      const why = excludedBecause(pool, { ...admitted, ...spoilt }, after)!;
      expect([why.code, exclusionText(why)]).toEqual([code, words]);
    }
    const early = excludedBecause(pool, admitted, '2030-12-31T00:00:00Z')!;
    expect([early.code, exclusionText(early)]).toEqual(['built before', 'built before 2031-01-01']);
    expect(exclusionText({ code: 'only a bound', facts: {} })).toBe('reported only as a bound');
  });

  it('say why there is no index', () => {
    const [item] = facts.specification.body.characteristics;
    const { notes } = familyCapability(
      edited(facts, (copy) => {
        copy.history = undefined;
      }),
      item!,
      [],
    );
    expect(notes.map(capabilityNoteText)).toEqual([
      '0 earlier values: no mean, no spread, no index.',
      'No signed capability plan was in force when the first build of this lot closed: the chart has points and no limits.',
    ]);
  });
});

it('a changed phrase changes no value, plan, index or identity of a finding', async () => {
  const digest = (of: typeof assess) => {
    const { characteristics, capability, checks, units } = of(facts, 'test');
    const found = checks.flatMap(({ findings }) => findings.map(({ id }) => id));
    return digestOf({ characteristics, capability, found, verdicts: units.map(({ verdict }) => verdict) });
  };
  const spoilt = edited(facts, (copy) => {
    copy.results[0].value = '100';
  });
  facts = signedFacts(spoilt);
  expect(acceptAll(facts).some(({ verdict }) => verdict === 'does not conform')).toBe(true);
  const before = digest(assess);
  const topics = Object.entries({ values, plans, capability });
  const fileOf = (topic: string) => `../../src/report/phrases/${topic}.js`;
  vi.resetModules();
  for (const [topic, phrases] of topics) {
    const others = Object.keys(phrases).map((name) => [name, () => `otherwise: ${name}`]);
    vi.doMock(fileOf(topic), () => Object.fromEntries(others));
  }
  expect((await import('../../src/report/phrases/plans.js')).planRuleText('every-unit')).toBe(
    'otherwise: planRuleText',
  );
  const after = digest((await import('../../src/assessment/assess.js')).assess);
  // The suites that follow share the modules.
  for (const [topic] of topics) vi.doUnmock(fileOf(topic));
  vi.resetModules();
  expect(after).toBe(before);
});

it.each([
  [[{ from: 4, to: 4 }], 'layer 4'],
  [[{ from: 4, to: 6 }], 'layers 4 to 6'],
  [
    [
      { from: 2, to: 3 },
      { from: 8, to: 8 },
    ],
    'layers 2 to 3 and 8',
  ],
])('says layers in words: %j', (ranges, text) => {
  expect(layersText(ranges)).toBe(text);
});

it('words about a break of the inert atmosphere name what it joins, and the most severe level among it', () => {
  const joins = [
    { rule: 'excursion', channel: 'oxygen' },
    { rule: 'gap', channel: null },
  ];
  const found = { rule: 'break of inert atmosphere', level: 'alert', channel: null, ucum: null } as const;
  expect(findingText({ ...found, facts: { durationMs: 12_000, joins, mostSevere: 'action' } })).toBe(
    'break of inert atmosphere, for 12 s; joins excursion of oxygen and gap, at most of level action',
  );
  expect(findingText({ ...found, facts: { durationMs: 12_000, joins } })).toMatch(
    /; joins excursion of oxygen and gap$/,
  );
});
