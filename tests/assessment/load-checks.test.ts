import { assess } from '../../src/assessment/assess.js';
import type { CheckResult } from '../../src/assessment/assessment.js';
import { expiryOf } from '../../src/assessment/expiry.js';
import type { Facts } from '../../src/dossier/facts.js';
import { basisWords, checkTitle, findingWords } from '../../src/report/assessment-words.js';
import { addLoads, at } from '../support/documents/loads.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { decidedByBoth, signedFacts } from '../support/signed-facts.js';

/**
 * ISO 13485:2016 7.5.5 and 7.5.7 (parameters of each sterilisation load, traceable to each batch), 7.5.6 (processes of
 * which the result cannot be seen), 7.5.11 (time and place until use). The answers are worked out by hand.
 */
const CODES = ['loads-named', 'loads-kept', 'loads-accepted', 'holds-kept', 'expiry-after-surgery'];

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => addLoads(cell));
});

const loadOf = (copy: Editable, code: string): Editable => copy.loads.get(code).body;
const checked = (change: (copy: Editable) => void) => assessBothWays(signedFacts(edited(facts, change)));
const checkOf = (checks: readonly CheckResult[], code: string) => checks.find((check) => check.code === code)!;

it('lets sterile implants go whose loads are whole, and says what it looked at', () => {
  const { checks, units } = checked(() => {});
  expect(units.map(({ why, releasableFor }) => [why, releasableFor])).toEqual(
    Array(2).fill([[], ['sterilisation', 'distribution']]),
  );
  expect(checks.filter(({ code }) => CODES.includes(code)).map(({ code, outcome }) => [code, outcome])).toEqual([
    ['loads-named', 'passes'],
    ['loads-kept', 'passes'],
    ['loads-accepted', 'passes'],
    ['holds-kept', 'does not apply'],
    ['expiry-after-surgery', 'passes'],
  ]);
  for (const code of CODES) expect(`${checkTitle(code)} ${basisWords(checkOf(checks, code))}`).not.toMatch(/undefined/);
});

type Spoilt = readonly [check: string, rule: string, outcome: CheckResult['outcome'], change: (copy: Editable) => void];
const OPEN = 'cannot be decided';

const held = (from: string, to: string, hours: string) => (copy: Editable) => {
  copy.specification.body.holds = [{ from, to, hours }];
};

const SPOILT: readonly Spoilt[] = [
  ['loads-named', 'no load', OPEN, (copy) => delete copy.lot.body.steps[2].load],
  ['loads-named', 'no load', OPEN, (copy) => delete copy.lot.body.steps[1].load],
  ['loads-named', 'load not on record', OPEN, (copy) => copy.loads.delete('ST-1')],
  [
    'loads-named',
    'load of another step',
    OPEN,
    (copy) => {
      copy.lot.body.steps[2].load = 'PA-1';
    },
  ],
  ['loads-named', 'not in the load', OPEN, (copy) => loadOf(copy, 'ST-1').implants.pop()],
  ['loads-named', 'no step names the load', OPEN, (copy) => copy.lot.body.steps.shift()],
  [
    'loads-named',
    'in two loads at once',
    OPEN,
    (copy) => {
      loadOf(copy, 'ST-1').startedAt = at('03', '16:10');
    },
  ],
  [
    'loads-kept',
    'outside its limits',
    'fails',
    (copy) => {
      loadOf(copy, 'ST-1').cycle[0].value = '24.99';
    },
  ],
  [
    'loads-kept',
    'outside its limits',
    'fails',
    (copy) => {
      loadOf(copy, 'PA-1').cycle[0].value = '150.1';
    },
  ],
  [
    'loads-kept',
    'no limits',
    OPEN,
    (copy) => {
      loadOf(copy, 'ST-1').cycle = [{ parameter: 'dose', value: '26', ucum: 'kGy' }];
    },
  ],
  [
    'loads-kept',
    'indicator failed',
    'fails',
    (copy) => {
      loadOf(copy, 'ST-1').indicators[0].result = 'failed';
    },
  ],
  ['loads-kept', 'no indicator', OPEN, (copy) => delete loadOf(copy, 'ST-1').indicators],
  [
    'loads-accepted',
    'not accepted',
    OPEN,
    (copy) => {
      loadOf(copy, 'ST-1').by = 'P-QE';
    },
  ],
  // From 14:30 to 16:00 are 1.5 h; the chamber was opened later than it was closed, and long before cleaning.
  ['holds-kept', 'waited too long', OPEN, held('clean', 'pack', '1.49')],
  ['holds-kept', 'earlier step not on record', OPEN, held('coat', 'pack', '5')],
  [
    'holds-kept',
    'pouch open too long',
    OPEN,
    (copy) => {
      copy.specification.body.openPouchHours = '0.3';
    },
  ],
  [
    'holds-kept',
    'open time not known',
    OPEN,
    (copy) => {
      copy.specification.body.openPouchHours = '5';
      delete loadOf(copy, 'PA-1').startedAt;
    },
  ],
  [
    'expiry-after-surgery',
    'expires before it is used',
    'fails',
    (copy) => {
      const [code, found] = [...copy.cases][0];
      const part = copy.caseParts.get(code).pinned.find(({ kind }: Editable) => kind === 'case');
      for (const body of [found.body, part.body]) body.surgeryOn = '2033-03-04';
    },
  ],
  [
    'expiry-after-surgery',
    'no expiry',
    OPEN,
    (copy) => {
      for (const code of ['PA-1', 'ST-1']) delete loadOf(copy, code).expiry;
    },
  ],
];

it.each(SPOILT)('%s: %s is %s, and keeps implants from going', (code, rule, outcome, change) => {
  const { checks, units } = checked(change);
  const check = checkOf(checks, code);
  expect([check.findings.map((finding) => finding.rule), check.outcome]).toEqual([
    expect.arrayContaining([rule]),
    outcome,
  ]);
  for (const finding of check.findings) {
    const { says, clearedBy } = findingWords(code, finding);
    expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object/);
    expect(clearedBy).not.toBe('');
  }
  expect(units.filter(({ releasableFor }) => releasableFor.includes('distribution')).length).toBeLessThan(2);
});

it.each([
  ['exactly as long as allowed', held('clean', 'pack', '1.5'), 'passes'],
  ['from the opening of the chamber', held('build', 'clean', '48'), 'passes'],
  ['up to a step that was not done', held('pack', 'coat', '1'), 'does not apply'],
  [
    'from the build up to a rework, which its instruction answers for',
    (copy: Editable) => {
      held('build', 'clean', '48')(copy);
      const instruction = { instruction: 'RW', revision: 1 };
      copy.lot.body.steps.push({ step: 'clean', at: at('09', '10:00'), by: 'P-OP', parts: ['L-1-I1'], instruction });
    },
    'passes',
  ],
  [
    'of a pouch that was never made, since its implant was scrapped before',
    (copy: Editable) => {
      copy.specification.body.openPouchHours = '5';
      copy.lot.body.fates = [{ part: 'L-1-I2', as: 'scrapped', at: at('03', '15:00'), by: 'P-OP' }];
      for (const code of ['PA-1', 'ST-1']) loadOf(copy, code).implants = ['L-1-I1'];
    },
    'passes',
  ],
])('a wait %s', (_, change, outcome) => {
  expect(checkOf(checked(change).checks, 'holds-kept').outcome).toBe(outcome);
});

it('lets people decide on a load that failed once the parts went through another', () => {
  const again = edited(facts, (copy) => {
    const second = structuredClone(copy.loads.get('ST-1'));
    Object.assign(second, { key: 'ST-2', digest: 'ab'.repeat(32) });
    Object.assign(second.body, { load: 'ST-2', startedAt: at('04', '09:00'), at: at('04', '10:00') });
    copy.loads.set('ST-2', second);
    copy.dossier.pinned.push(second);
    copy.lot.body.steps.push({ step: 'sterilise', at: at('04', '10:00'), by: 'P-OP', load: 'ST-2' });
    loadOf(copy, 'ST-1').indicators[0].result = 'failed';
    // Nobody else accepted the first one, and nobody is asked to.
    loadOf(copy, 'ST-1').by = 'P-QE';
  });
  const before = assess(signedFacts(again), 'test');
  const [finding] = checkOf(before.checks, 'loads-kept').findings;
  expect(finding).toMatchObject({ rule: 'indicator failed, done again', mayBeDecided: 'decision' });
  expect(before.releasable).toEqual([]);
  const after = assess(signedFacts(again, ...decidedByBoth(finding!.id)), 'test');
  expect(after.units.flatMap(({ why }) => why)).toEqual([]);
  expect(after.units.map(({ releasableFor }) => releasableFor)).toEqual(
    Array(2).fill(['sterilisation', 'distribution']),
  );
});

describe('the day of expiry is the earliest', () => {
  it.each<[string, (copy: Editable) => void, object | undefined]>([
    ['of the sterile barrier', () => {}, { day: '2033-03-04', bound: 'sterile barrier' }],
    [
      'of the shelf life from the day of packing',
      (copy) => {
        copy.specification.body.shelfLifeDays = 366;
      },
      { day: '2032-03-03', bound: 'shelf life' },
    ],
    [
      'of a pack that ends before the load',
      (copy) => {
        loadOf(copy, 'PA-1').expiry = '2032-12-31';
      },
      { day: '2032-12-31', bound: 'sterile barrier' },
    ],
    ['and none before packing', (copy) => copy.lot.body.steps.splice(1, 1), undefined],
  ])('%s', (_, change, expected) => {
    const copy = edited(facts, change);
    expect(expiryOf(copy, copy.lot.body.implants[0]!)).toEqual(expected);
  });
});
