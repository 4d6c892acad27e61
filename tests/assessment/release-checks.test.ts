import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import { findingId } from '../../src/assessment/checks/check.js';
import type { Facts } from '../../src/dossier/facts.js';
import { digestOfResults, restingOn } from '../../src/dossier/impact-results.js';
import { basisWords, checkTitle, findingWords } from '../../src/report/assessment-words.js';
import { checkAll, statedChecks } from '../support/by-note/checks.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf, listed } from '../support/note-files.js';
import { decidedByBoth, signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

const assessedWith = (change: (copy: Editable) => void): Assessment =>
  assess(signedFacts(edited(facts, change)), 'test');

const [GOOD, BAD, OPEN] = ['conforms', 'does not conform', 'cannot be decided'] as const;

const RECIPE = 'RC rev 2';
const LATE = '2031-03-20T09:00:00+01:00';
const RESULT = { specimen: 'L-1-W1', characteristic: 'rm', replicate: 1 };

/** The first strength of the first coupon, which stands for the first implant alone. */
const strength = (results: Editable): Editable =>
  results.find((row: Editable) => row.specimen === 'L-1-W1' && row.characteristic === 'rm');

/** The recipe sets a channel that is logged as 8 ppm all the time. */
function oxygenSet(said: Readonly<Record<string, string>>): (copy: Editable) => void {
  return ({ recipes, validations }) => {
    const [step] = recipes.get(RECIPE).body.zones[0].steps;
    step.parameters.push({ parameter: 'oxygen', ucum: '[ppm]', ...said });
    const { envelope } = validations.get('PV rev 1').body;
    envelope.push({ step: 'deposit', parameter: 'oxygen', ucum: said.ucum ?? '[ppm]', min: '0', max: '50' });
  };
}

/** The tensile test lasts, and is read at nine in the morning after the build. */
function lasting(duration: Editable, startedAt?: string): (copy: Editable) => void {
  return ({ methods, results }) => {
    methods.get('TM-T rev 1').body.duration = duration;
    for (const row of results) {
      if (row.characteristic !== 'rm' || startedAt === undefined) continue;
      row.startedAt = `${buildDay(row)}T${startedAt}:00+01:00`;
    }
  };
}

const buildDay = ({ measuredAt }: Editable): string =>
  new Date(Date.parse(measuredAt) - 86_400_000).toISOString().slice(0, 10);

interface Spoiled {
  readonly check: string;
  readonly what: string;
  readonly change: (copy: Editable) => void;
  readonly rule: string;
  readonly outcome: 'fails' | 'cannot be decided';
  readonly verdicts: readonly string[];
}

const SPOILED: Spoiled[] = [
  {
    check: 'recipe-inside-envelope',
    what: 'a laser power above the validated range',
    change: ({ recipes }) => {
      recipes.get(RECIPE).body.zones[0].steps[0].parameters[0].set = '321';
    },
    rule: 'outside the validated envelope',
    outcome: 'fails',
    verdicts: [BAD, BAD],
  },
  {
    check: 'recipe-inside-envelope',
    what: 'the same power in kW, inside the range, and a setting that nobody validated',
    change: ({ recipes }) => {
      const [step] = recipes.get(RECIPE).body.zones[0].steps;
      step.parameters = [
        { parameter: 'laser power', set: '0.3', ucum: 'kW' },
        { parameter: 'scan speed', set: '8', ucum: 'mm/s' },
      ];
    },
    rule: 'setting not validated',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'recipe-inside-envelope',
    what: 'a range in a unit of another kind',
    change: ({ validations }) => {
      validations.get('PV rev 1').body.envelope[1].ucum = 'MPa';
    },
    rule: 'units do not compare',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'settings-followed',
    what: 'a mean farther from the set value than the recipe allows',
    change: oxygenSet({ set: '12', within: '2' }),
    rule: 'set value not followed',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'settings-followed',
    what: 'a logged setting without an allowed deviation',
    change: oxygenSet({ set: '8' }),
    rule: 'no allowed deviation stated',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'settings-followed',
    what: 'a setting in a unit in which it cannot be logged',
    change: oxygenSet({ set: '8', ucum: 'W' }),
    rule: 'units do not compare',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'settings-followed',
    what: 'a setting that no channel of the log shows',
    change: ({ recipes }) => {
      delete recipes.get(RECIPE).body.zones[0].steps[1].parameters[0].unlogged;
    },
    rule: 'setting not logged',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'zone-classes-covered',
    what: 'a zone of a class in which nothing is measured',
    change: ({ recipes, lot }) => {
      const { zones } = recipes.get(RECIPE).body;
      zones.push({ ...zones[0], zone: 'hole', class: 'screw-hole' });
      for (const { zones: built } of lot.body.implants) built.push({ ...built[0], recipeZone: 'hole' });
    },
    rule: 'nothing measured in a zone class',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'events-in-order',
    what: 'a calibration in an entry that was recorded before it',
    change: ({ dossier }) => {
      dossier.pinned.find((item: Editable) => item.key === 'I-RIG').recordedAt = '2031-01-14T08:00:00.000Z';
    },
    rule: 'fact after its recording',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'events-in-order',
    what: 'a result that was recorded before it was measured',
    change: ({ results }) => {
      strength(results).recordedAt = '2031-03-01T08:00:00.000Z';
    },
    rule: 'result after its recording',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'tests-long-enough',
    what: 'a test without a start, by a method that says how long it lasts',
    change: lasting({ hours: '24', within: '1' }),
    rule: 'start not recorded',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'tests-long-enough',
    what: 'a test on a coupon that was not free for so long',
    change: lasting({ hours: '48' }),
    rule: 'cannot have lasted as long',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'tests-long-enough',
    what: 'a test that was ended too soon',
    change: lasting({ hours: '24', within: '1' }, '22:30'),
    rule: 'shorter than the method says',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'tests-long-enough',
    what: 'a test that was left too long',
    change: lasting({ hours: '10', within: '0.4' }, '22:30'),
    rule: 'longer than the method says',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'process-validated',
    what: 'a specification that names no process validation',
    change: ({ specification }) => {
      delete specification.body.validations;
    },
    rule: 'no process validation',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'process-validated',
    what: 'a process validation that had run out',
    change: ({ validations }) => {
      validations.get('PV rev 1').body.validUntil = '2031-03-01T00:00:00+01:00';
    },
    rule: 'not valid on the build date',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'limits-before-data',
    what: 'limits that came in after the values were measured',
    change: ({ specification }) => {
      specification.recordedAt = LATE;
    },
    rule: 'limits recorded after the data',
    outcome: 'fails',
    verdicts: [GOOD, GOOD],
  },
  {
    check: 'methods-in-force',
    what: 'a method that took effect after it was used',
    change: ({ methods }) => {
      methods.get('TM-T rev 1').body.effectiveFrom = LATE;
    },
    rule: 'not yet effective',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'methods-in-force',
    what: 'a later revision of the method that was in force already',
    change: ({ methods }) => {
      const earlier = methods.get('TM-S rev 1');
      const later = { ...earlier, body: { ...earlier.body } };
      Object.assign(later.body, { revision: 2, effectiveFrom: '2031-02-01T00:00:00+01:00' });
      methods.set('TM-S rev 2', later);
    },
    rule: 'superseded at use',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'operators-qualified',
    what: 'an operator who is not qualified for the machine',
    change: ({ people }) => {
      people.get('P-OP').body.qualifications = [];
    },
    rule: 'not qualified',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'testers-qualified',
    what: 'an analyst whose qualification began the day after the test',
    change: ({ people }) => {
      people.get('P-AN').body.qualifications[0].from = '2031-03-05';
    },
    rule: 'qualification not valid on the day',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'machines-maintained',
    what: 'a leak test that had been due before the build',
    change: ({ machines }) => {
      machines.get('M1').body.upkeep[1].due = '2031-03-01T08:00:00+01:00';
    },
    rule: 'leak test overdue',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'machines-maintained',
    what: 'a power check that failed',
    change: ({ machines }) => {
      machines.get('M1').body.upkeep[2].result = 'failed';
    },
    rule: 'power check failed',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'machines-maintained',
    what: 'a machine without any maintenance on record',
    change: ({ machines }) => {
      delete machines.get('M1').body.upkeep;
    },
    rule: 'no maintenance on record',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'coupons-planned',
    what: 'a coupon that cites no equivalence study',
    change: ({ lot }) => {
      delete lot.body.coupons[0].study;
    },
    rule: 'no equivalence study',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'coupons-planned',
    what: 'a study of another characteristic',
    change: ({ studies }) => {
      studies.get('EQ rev 1').body.characteristics = ['hardness'];
    },
    rule: 'characteristic not in the study',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'coupons-planned',
    what: 'a study that covers places in the chamber which nobody stated',
    change: ({ studies }) => {
      studies.get('EQ rev 1').body.positions = ['left', 'right'];
    },
    rule: 'position not in the study',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'coupons-planned',
    what: 'an implant that went through a further closure without its coupon',
    change: ({ lot }) => {
      const [build] = lot.body.builds;
      const times = { closedAt: '2031-03-03T10:00:00+01:00', openedAt: '2031-03-03T11:00:00+01:00' };
      lot.body.builds.push({ ...build, build: 'M1-102', run: 102, ...times });
      lot.body.implants[0].alsoIn = [{ build: 'M1-102', steps: ['peen'] }];
    },
    rule: 'not from the same builds',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'coupons-represent',
    what: 'an implant that was cleaned without its coupon',
    change: ({ lot }) => {
      lot.body.steps.push(step('clean', ['L-1-I1']));
    },
    rule: 'not the same step after the build',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'coupons-represent',
    what: 'a coupon of another sterile load',
    change: ({ lot }) => {
      lot.body.steps.push(step('sterilise', ['L-1-I1', 'L-1-I2', 'L-1-W2']));
    },
    rule: 'not of the same sterile load',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'events-in-order',
    what: 'a result from before the build',
    change: ({ results }) => {
      strength(results).measuredAt = '2031-03-02T09:00:00+01:00';
    },
    rule: 'result before the build',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'events-in-order',
    what: 'a value of a specimen that the lot does not have',
    change: ({ results }) => {
      results.push({ ...strength(results), specimen: 'L-9-W1' });
    },
    rule: 'specimen of another lot',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'events-in-order',
    what: 'two values for one replicate',
    change: ({ results }) => {
      results.push({ ...strength(results), value: '231.0', line: '9' });
    },
    rule: 'two results for one replicate',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'events-in-order',
    what: 'a step before the chamber was opened',
    change: ({ lot }) => {
      lot.body.steps.push({ step: 'clean', at: '2031-03-03T08:01:00+01:00', by: 'P-OP' });
    },
    rule: 'step before the chamber was opened',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'events-in-order',
    what: 'a build that is only planned',
    change: ({ lot }) => {
      lot.body.builds[0].state = 'planned';
    },
    rule: 'not built yet',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'results-in-time',
    what: 'a value that was due before sterilisation and measured after it',
    change: ({ lot, specification }) => {
      specification.body.characteristics[0].due = 'before-sterilisation';
      lot.body.steps.push({ step: 'sterilise', at: '2031-03-03T20:00:00+01:00', by: 'P-OP' });
    },
    rule: 'measured after it was due',
    outcome: 'fails',
    // The step names no load.
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'repeats-decided',
    what: 'a test that is called invalid and that nobody else decided',
    change: ({ lot }) => {
      lot.body.invalidTests = [
        { result: RESULT, cause: 'slip in the grip', seenBy: 'P-AN', decidedBy: 'P-QE', at: LATE },
      ];
    },
    rule: 'invalid test not decided',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'repeats-decided',
    what: 'a replacement without a retest rule',
    change: ({ lot }) => {
      lot.body.replacements = [{ characteristic: 'rm', replaces: 'L-1-W1', by: 'L-1-W2', reason: 'invented' }];
    },
    rule: 'no retest rule',
    outcome: OPEN,
    verdicts: [OPEN, GOOD],
  },
  {
    check: 'after-release-relied',
    what: 'a late result that rests on a validation which had run out',
    change: ({ specification, validations }) => {
      Object.assign(specification.body.characteristics[0], { due: 'after-release', relies: 'PV', dueWithinDays: 60 });
      validations.get('PV rev 1').body.validUntil = '2031-03-01T00:00:00+01:00';
    },
    rule: 'not valid for a late result',
    outcome: OPEN,
    verdicts: [OPEN, OPEN],
  },
  {
    check: 'counts-balance',
    what: 'an implant that was used up by a test, and nobody says that it is gone',
    change: ({ lot, methods }) => {
      methods.get('TM-S rev 1').body.destructive = 'destructive';
      lot.body.fates = [{ part: 'L-1-I2', as: 'tested', at: '2031-03-05T09:00:00+01:00', by: 'P-AN' }];
    },
    rule: 'used up by a test and not said so',
    outcome: 'fails',
    verdicts: [GOOD, GOOD],
  },
  {
    check: 'counts-balance',
    what: 'an implant that is said to be scrapped, and nothing shows it',
    change: ({ lot }) => {
      lot.body.fates = [{ part: 'L-1-I2', as: 'scrapped', at: '2031-03-05T09:00:00+01:00', by: 'P-QE' }];
    },
    rule: 'nothing shows its fate',
    outcome: OPEN,
    verdicts: [GOOD, GOOD],
  },
  {
    check: 'labels-balance',
    what: 'a label that nobody can find',
    change: ({ lot }) => {
      lot.body.labels = { printed: 3, used: 2, destroyed: 0 };
    },
    rule: 'does not add up',
    outcome: 'fails',
    verdicts: [GOOD, GOOD],
  },
  {
    check: 'acceptance',
    what: 'a coupon below its limit',
    change: ({ results }) => {
      strength(results).value = '214.9';
    },
    rule: 'outside limits',
    outcome: 'fails',
    verdicts: [BAD, GOOD],
  },
];

function step(name: string, parts: readonly string[]) {
  return { step: name, at: '2031-03-04T07:00:00+01:00', by: 'P-OP', parts };
}

it.each(SPOILED)('$check: $what: "$rule"', ({ check, change, rule, outcome, verdicts }) => {
  const { checks, units } = assessedWith(change);
  const result = checks.find((item) => item.code === check)!;
  const finding = result.findings.find((item) => item.rule === rule);
  expect({ outcome: result.outcome, rules: result.findings.map((item) => item.rule) }).toEqual({
    outcome,
    rules: expect.arrayContaining([rule]),
  });
  expect(units.map((unit) => unit.verdict)).toEqual(verdicts);
  // Written for whoever must clear it: a sentence, who, and where to look.
  const words = findingWords(check, finding!);
  expect(words.says).toMatch(/[.!]$/);
  expect(words.clearedBy).toMatch(/^[A-Z][^:]{3,60}: /);
  // It names only what people can do here.
  for (const { code, mayBeDecided, ...found } of checks.flatMap((item) =>
    item.findings.map((one) => ({ ...one, code: item.code })),
  )) {
    const { says, clearedBy } = findingWords(code, found);
    // Each fact that the words need is there, and the rule has words of its own.
    expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object|assess the lot again/);
    if (mayBeDecided !== 'concession') expect(clearedBy).not.toContain('sign a concession');
  }
  expect(finding!.subjects.length).toBeGreaterThan(0);
  for (const unit of units.filter((item) => finding!.units.includes(item.serial))) expect(unit.releasable).toBe(false);
});

it('finds the same by the note for strangers alone, whatever is spoilt', () => {
  for (const { check, what, change } of SPOILED) {
    const spoilt = listed(signedFacts(edited(facts, change)));
    const carried = attachedOf(spoilt, assess(spoilt, 'test'));
    expect([check, what, checkAll(carried)]).toEqual([check, what, statedChecks(carried)]);
  }
});

it('gives no finding of one lot the identity of one of another lot, whatever else is equal', () => {
  for (const { check, what, change } of SPOILED) {
    const [own, other] = ['L-1', 'L-2'].map((lot) =>
      assessedWith((copy) => {
        change(copy);
        copy.dossier.lot = lot;
      }).checks.flatMap(({ findings }) => findings.map(({ id }) => id)),
    );
    expect(own!.length).toBeGreaterThan(0);
    expect([check, what, own!.filter((id) => other!.includes(id))]).toEqual([check, what, []]);
  }
});

const NOT_HERE = [
  'certificates-plausible',
  'delivered-as-ordered',
  'supplier-approved',
  'powder-balance',
  'deposited-metal-known',
  ...['risk-build-signed', 'changeover-done', 'line-cleared', 'consumables-within-limit', 'corrections-judged'],
  'powder-reuse-within-limit',
  'labels-balance',
  'results-in-time',
  'repeats-decided',
  'after-release-relied',
  'log-sensors-calibrated',
  ...['tests-long-enough', 'exposures-stand', 'support-window-met', 'shape-within-profile'],
  // Nothing of the cell was built on stock.
  ...['stock-part-accepted', 'stock-kept', 'interface-tested'],
  // The cell names no law.
  ...[
    'design-inside-envelope',
    'image-age',
    'design-accepted',
    'side-agrees',
    'recipe-as-designed',
    'software-as-validated',
  ],
  ...['route-needs', 'statement-signed', 'codes-read'],
  ...['loads-named', 'loads-kept', 'loads-accepted', 'places-kept', 'holds-kept', 'expiry-after-surgery'],
  // No nonconformity touches the lot of the cell, and nothing of it was reworked.
  ...['nonconformities-closed', 'rework-repeated', 'moves-signed'],
];

it('passes every check of a lot in order, and names the rule by which a check does not apply', () => {
  const { checks, units } = assessedWith(() => {});
  expect(units.map((unit) => unit.why)).toEqual([[], []]);
  expect(
    checks
      .filter((check) => check.outcome === 'does not apply')
      .map((check) => check.code)
      .sort(),
  ).toEqual([...NOT_HERE].sort());
  expect(checks.filter((check) => check.outcome !== 'does not apply').map((check) => check.outcome)).toEqual(
    Array(checks.length - NOT_HERE.length).fill('passes'),
  );
  for (const check of checks) {
    expect(basisWords(check)).not.toBe('');
    expect(`${checkTitle(check.code)} ${basisWords(check)}`).not.toMatch(/undefined|NaN|\[object/);
    expect(checkTitle(check.code)).not.toBe(check.code);
  }
});

describe('checks that do not apply to a lot', () => {
  const NOTHING: readonly (readonly [string, (copy: Editable) => void])[] = [
    ['limits-before-data', (copy) => copy.results.splice(0)],
    ['methods-in-force', (copy) => copy.results.splice(0)],
    ['testers-qualified', (copy) => copy.results.splice(0)],
    ['results-signed', (copy) => copy.results.splice(0)],
    ['recipe-inside-envelope', (copy) => delete copy.specification.body.validations],
    ['coupons-planned', (copy) => copy.lot.body.coupons.splice(0)],
    ['coupons-represent', (copy) => copy.lot.body.coupons.splice(0)],
    ['process-validated', emptied],
    ['settings-followed', (copy) => copy.summaries.splice(0)],
    [
      'zone-classes-covered',
      ({ specification }) => {
        for (const item of specification.body.characteristics) delete item.zoneClass;
      },
    ],
    ['acceptance', emptied],
    ['counts-balance', emptied],
  ];
  it.each(NOTHING)('%s', (code, change) => {
    const result = assessedWith(change).checks.find((check) => check.code === code)!;
    expect(result).toMatchObject({ outcome: 'does not apply', findings: [] });
    expect(basisWords(result).length).toBeGreaterThan(10);
  });

  function emptied({ lot, results }: Editable): void {
    lot.body.implants = [];
    lot.body.coupons = [];
    results.splice(0);
  }
});

describe('what people may do about a finding', () => {
  const decided = (change: (copy: Editable) => void, codes: string) => {
    const copy = edited(facts, change);
    const found = assess(signedFacts(copy), 'test').checks.flatMap((check) =>
      codes.split(', ').includes(check.code) ? check.findings : [],
    );
    const statements = found.flatMap(({ id }) => decidedByBoth(id));
    return { found, now: assess(signedFacts(copy, ...statements), 'test') };
  };
  const weak = (copy: Editable) => {
    strength(copy.results).value = '214.9';
  };

  it('lets no unit go by a decision on what only a concession with its clause lets go', () => {
    const { now } = decided(weak, 'acceptance, failures-explained');
    expect(now.units[0]).toMatchObject({ verdict: BAD, releasable: false });
    expect(now.units[0]!.why[0]).toMatchObject({ conceded: false, mayBeDecided: 'concession' });
    expect(now.releasable).toEqual(['L-1-I2']);
  });

  it('counts limits from the day of a signed original that was taken in with them, not from that of a mere claim', () => {
    const takenInLate = (original?: string, at = '2031-02-01T09:00:00+01:00') =>
      assessedWith(({ specification }) => {
        specification.recordedAt = LATE;
        specification.body.approval = { by: 'P-QE', at, ...(original === undefined ? {} : { original }) };
      }).checks.find((check) => check.code === 'limits-before-data')!;
    expect(takenInLate('signed/specification.pdf')).toMatchObject({
      outcome: 'passes',
      claims: [{ how: 'approved elsewhere', by: 'P-QE', at: '2031-02-01T09:00:00+01:00' }],
    });
    expect(takenInLate()).toMatchObject({ outcome: 'fails' });
    // The values were measured on 4 March 2031.
    expect(takenInLate('signed/specification.pdf', '2031-03-05T09:00:00+01:00')).toMatchObject({ outcome: 'fails' });
  });

  it('takes away a finding that a decision may lift', () => {
    const { now } = decided(({ specification }) => {
      specification.recordedAt = LATE;
    }, 'limits-before-data');
    expect(now.checks.find((check) => check.code === 'limits-before-data')!.outcome).toBe('passes');
    expect(now.units.map((unit) => unit.why)).toEqual([[], []]);
  });

  it('clears an overdue instrument by an as-found calibration within tolerance and a signed assessment, by nothing less', () => {
    const overdue = ({ instruments }: Editable) => {
      instruments.get('I-MIC').body.calibrations[0].due = '2031-03-01T08:00:00+01:00';
    };
    const foundGood = (copy: Editable) => {
      overdue(copy);
      copy.instruments.get('I-MIC').body.calibrations.push({
        certificate: 'K-2',
        at: '2031-03-10T08:00:00+01:00',
        due: '2032-03-10T08:00:00+01:00',
        asFound: 'in tolerance',
        asLeft: 'in tolerance',
        traceableTo: 'invented',
      });
    };
    expect(decided(overdue, 'calibration-valid').now.units.map((unit) => unit.verdict)).toEqual([OPEN, OPEN]);
    expect(assessedWith(foundGood).units.map((unit) => unit.verdict)).toEqual([OPEN, OPEN]);
    expect(decided(foundGood, 'calibration-valid').now.units.map((unit) => unit.verdict)).toEqual([GOOD, GOOD]);
  });

  it('clears a rig that was found off later by an accepted impact, for exactly the results that it names', () => {
    const IMPACT = 'f'.repeat(64);
    const foundOff = (copy: Editable, change: (body: Editable) => void = () => {}) => {
      copy.instruments.get('I-RIG').body.calibrations.push({
        ...copy.instruments.get('I-RIG').body.calibrations[0],
        ...{ certificate: 'K-2', at: '2031-04-01T08:00:00+02:00', asFound: 'out of tolerance' },
      });
      const pinned = copy.dossier.pinned.find(({ key }: Editable) => key === 'I-RIG');
      pinned.body = copy.instruments.get('I-RIG').body;
      const [from, to] = ['2031-01-15T08:00:00+01:00', '2031-04-01T08:00:00+02:00'];
      const sha256 = digestOfResults(restingOn(copy.results, { kind: 'instrument', key: 'I-RIG', from, to }));
      const body = {
        ...{ kind: 'impact', format: 1, impact: 'IM-1', cause: { kind: 'instrument', key: 'I-RIG' }, from, to },
        head: { entries: 9, root: 'a'.repeat(64) },
        results: { count: 2, sha256: 'b'.repeat(64), ofLots: [{ lot: 'L-1', count: 2, sha256 }] },
        lots: ['L-1'],
        decisions: ['L-1-I1', 'L-1-I2'].map((implant) => ({ implant, as: 'no effect' })),
        ...{ conclusion: 'invented', reason: 'invented' },
      };
      change(body);
      const stored = { kind: 'impact', key: 'IM-1', revision: 1, digest: IMPACT, recordedAt: '2031-04-02T08:00:00Z' };
      copy.dossier.pinned.push({ ...stored, body });
    };
    const said = (change: (copy: Editable) => void, ...statements: ReturnType<typeof decidedByBoth>) => {
      const { checks } = assess(signedFacts(edited(facts, change), ...statements), 'test');
      const { outcome, basis, findings } = checks.find(({ code }) => code === 'calibration-valid')!;
      return [outcome, basis.impacts, [...new Set(findings.flatMap(({ units }) => units))].sort()];
    };
    const accepted = decidedByBoth(IMPACT, 'accepted');
    expect(said((copy) => foundOff(copy), ...accepted)).toEqual(['passes', 'IM-1', []]);
    const OPEN_TO_BOTH = [OPEN, undefined, ['L-1-I1', 'L-1-I2']];
    expect(said((copy) => foundOff(copy))).toEqual(OPEN_TO_BOTH);
    expect(said((copy) => foundOff(copy), ...decidedByBoth(IMPACT, 'rejected'))).toEqual(OPEN_TO_BOTH);
    for (const change of [
      (body: Editable) => (body.cause.key = 'I-MIC'),
      (body: Editable) => (body.from = '2031-03-31T08:00:00+02:00'),
      (body: Editable) => (body.results.ofLots[0].lot = 'L-2'),
      (body: Editable) => delete body.results.ofLots,
    ]) {
      expect(said((copy) => foundOff(copy, change), ...accepted)).toEqual(OPEN_TO_BOTH);
    }
    const corrected = (copy: Editable) => {
      foundOff(copy);
      strength(copy.results).reportedValue = '231.1';
    };
    expect(said(corrected, ...accepted)).toEqual(OPEN_TO_BOTH);
    const forOne = (copy: Editable) => foundOff(copy, (body) => (body.decisions[1].as = 'measure again'));
    expect(said(forOne, ...accepted)).toEqual([OPEN, 'IM-1', ['L-1-I2']]);
  });

  it('never concedes a sterile load', () => {
    const { found, now } = decided(({ lot }) => {
      lot.body.steps.push(step('sterilise', ['L-1-I1', 'L-1-I2', 'L-1-W2']));
    }, 'coupons-represent');
    expect(found.map((finding) => finding.mayBeDecided)).toEqual(['no']);
    expect(now.units[0]).toMatchObject({ verdict: OPEN, releasable: false });
  });

  it('lets a decision hold while check, rule, subjects and facts are unchanged, and no longer', () => {
    const [finding] = decided(weak, 'acceptance').found;
    expect(finding!.id).toBe(findingId(facts, 'acceptance', finding!));
    const other = decided(({ results }) => {
      strength(results).value = '214.8';
    }, 'acceptance').found[0];
    expect(other!.id).not.toBe(finding!.id);
  });
});
