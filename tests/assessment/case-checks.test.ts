import { assess } from '../../src/assessment/assess.js';
import type { CheckResult, Verdict } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { basisWords, checkTitle, findingWords } from '../../src/report/assessment-words.js';
import { checkAll, statedChecks } from '../support/by-note/checks.js';
import { addDesigns } from '../support/documents/designs.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf, listed } from '../support/note-files.js';
import { signedFacts } from '../support/signed-facts.js';

let facts: Facts;
let without: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => addDesigns(cell));
  without = await factsOf();
});

const [GOOD, BAD, OPEN] = ['conforms', 'does not conform', 'cannot be decided'] as const;
const ONE = 'K-101-1';
const LATE = '2031-03-20T09:00:00+01:00';

/** Documents of the first case, by kind. */
type OfCase = (kind: string) => Editable;

const assessedWith = (change: (of: OfCase, copy: Editable) => void = () => {}, from = facts) =>
  assess(
    signedFacts(
      edited(from, (copy) =>
        change((kind) => copy.caseParts.get(ONE).pinned.find((item: Editable) => item.kind === kind)?.body, copy),
      ),
    ),
    'test',
  );

/** Takes documents of a kind away from the first case. */
const without1 = (kind: string) => (_: OfCase, copy: Editable) => {
  const part = copy.caseParts.get(ONE);
  part.pinned = part.pinned.filter((item: Editable) => item.kind !== kind);
};

const caseOf = (copy: Editable): Editable => copy.cases.get(ONE).body;

interface Spoiled {
  readonly check: string;
  readonly rule: string;
  readonly change: (of: OfCase, copy: Editable) => void;
  readonly outcome?: CheckResult['outcome'];
  readonly verdict: Verdict;
}

const SPOILED: readonly Spoiled[] = [
  {
    check: 'case-open',
    rule: 'cancelled',
    change: (_, copy) => {
      caseOf(copy).status = { is: 'cancelled', by: 'P-QE', at: LATE };
    },
    outcome: 'fails',
    verdict: GOOD,
  },
  {
    check: 'case-open',
    rule: 'built although cancelled',
    change: (_, copy) => {
      caseOf(copy).status = { is: 'cancelled', by: 'P-QE', at: '2031-02-20T09:00:00+01:00' };
    },
    outcome: 'fails',
    verdict: GOOD,
  },
  {
    check: 'design-still-current',
    rule: 'another iteration asked for',
    change: (_, copy) => {
      caseOf(copy).designIteration = 2;
    },
    outcome: 'fails',
    verdict: GOOD,
  },
  {
    check: 'design-still-current',
    rule: 'a later iteration',
    change: (of, copy) => {
      const design = copy.caseParts.get(ONE).pinned.find((item: Editable) => item.kind === 'case-design');
      copy.caseParts.get(ONE).pinned.push({ ...design, revision: 2, body: { ...of('case-design'), revision: 2 } });
    },
    outcome: 'fails',
    verdict: GOOD,
  },
  { check: 'design-inside-envelope', rule: 'no design', change: without1('case-design'), verdict: OPEN },
  {
    check: 'design-inside-envelope',
    rule: 'no approval',
    change: (_, copy) => {
      const design = copy.caseParts.get(ONE).pinned.find((item: Editable) => item.kind === 'case-design');
      design.digest = '00'.repeat(32);
      delete design.body.approval;
    },
    verdict: OPEN,
  },
  {
    check: 'design-inside-envelope',
    rule: 'approved after the build',
    change: (of) => {
      of('case-design').approval.at = LATE;
    },
    outcome: 'fails',
    verdict: GOOD,
  },
  {
    check: 'design-inside-envelope',
    rule: 'outside the envelope',
    change: (of) => {
      of('case-design').parameters[0].value = '60.1';
    },
    outcome: 'fails',
    verdict: BAD,
  },
  {
    check: 'design-inside-envelope',
    rule: 'units do not compare',
    change: (of) => {
      of('case-design').parameters[0].ucum = 'N';
    },
    verdict: OPEN,
  },
  {
    check: 'design-inside-envelope',
    rule: 'parameter not covered',
    change: (of) => {
      of('case-design').parameters.push({ parameter: 'width', value: '8', ucum: 'mm' });
    },
    verdict: OPEN,
  },
  {
    check: 'design-inside-envelope',
    rule: 'parameter not stated',
    change: (of) => {
      of('case-design').parameters[0].parameter = 'width';
    },
    verdict: OPEN,
  },
  {
    check: 'design-inside-envelope',
    rule: 'side not covered',
    change: (of) => {
      of('design-envelope').sides = ['midline'];
    },
    verdict: OPEN,
  },
  {
    check: 'design-inside-envelope',
    rule: 'site not covered',
    change: (of) => {
      of('design-envelope').sites = ['elsewhere'];
    },
    verdict: OPEN,
  },
  {
    check: 'design-inside-envelope',
    rule: 'envelope not yet effective',
    change: (of) => {
      of('design-envelope').effectiveFrom = LATE;
    },
    verdict: OPEN,
  },
  {
    check: 'design-inside-envelope',
    rule: 'outside on this route',
    change: (of, copy) => {
      of('case-design').outside = { why: 'invented' };
      copy.family.body.laws = [
        { law: 'EU', route: 'custom-made' },
        { law: 'US', route: 'patient-matched' },
      ];
      caseOf(copy).usedUnder = 'US';
    },
    verdict: OPEN,
  },
  {
    check: 'image-age',
    rule: 'images too old',
    change: (of) => {
      of('imaging-set').takenOn = '2030-01-02';
    },
    verdict: OPEN,
  },
  { check: 'design-accepted', rule: 'not accepted', change: without1('design-acceptance'), verdict: OPEN },
  {
    check: 'design-accepted',
    rule: 'accepted after the build',
    change: (of) => {
      of('design-acceptance').at = LATE;
    },
    outcome: 'fails',
    verdict: GOOD,
  },
  {
    check: 'design-accepted',
    rule: 'another model accepted',
    change: (of) => {
      of('design-acceptance').model = '0f'.repeat(32);
    },
    outcome: 'fails',
    verdict: BAD,
  },
  {
    check: 'design-accepted',
    rule: 'accepted by somebody else',
    change: (of) => {
      of('design-acceptance').by = { name: 'Dr Other', institution: 'Invented Hospital' };
    },
    verdict: OPEN,
  },
  {
    check: 'design-accepted',
    rule: 'no original',
    change: (of) => {
      delete of('design-acceptance').original;
    },
    verdict: OPEN,
  },
  {
    check: 'design-accepted',
    rule: 'not checked',
    change: (of) => {
      of('design-acceptance').enteredBy = 'P-QE';
    },
    verdict: OPEN,
  },
  {
    check: 'side-agrees',
    rule: 'another side',
    change: (_, copy) => {
      caseOf(copy).side = 'right';
    },
    outcome: 'fails',
    verdict: BAD,
  },
  {
    check: 'side-agrees',
    rule: 'another site',
    change: (_, copy) => {
      caseOf(copy).anatomicalSite = 'elsewhere';
    },
    outcome: 'fails',
    verdict: BAD,
  },
  {
    check: 'side-agrees',
    rule: 'another side marked',
    change: (of) => {
      of('case-design').marking = `${ONE} R`;
    },
    outcome: 'fails',
    verdict: BAD,
  },
  {
    check: 'side-agrees',
    rule: 'side not marked',
    change: (of) => {
      of('case-design').marking = ONE;
    },
    outcome: 'fails',
    verdict: BAD,
  },
  {
    check: 'recipe-as-designed',
    rule: 'built by another recipe',
    change: (of) => {
      of('case-design').recipe.revision = 1;
    },
    verdict: OPEN,
  },
];

const CHECKS = [...new Set(SPOILED.map(({ check }) => check))];
const named = (checks: readonly CheckResult[], code: string) => checks.find((check) => check.code === code)!;

it('passes what is asked of cases where every fact is there', () => {
  const { checks, units } = assessedWith();
  expect(CHECKS.map((code) => [code, named(checks, code).outcome])).toEqual(CHECKS.map((code) => [code, 'passes']));
  expect(units.map(({ verdict }) => verdict)).toEqual([GOOD, GOOD]);
  for (const code of CHECKS) {
    expect(`${checkTitle(code)} ${basisWords(named(checks, code))}`).not.toMatch(/undefined|NaN|\[object/);
  }
});

it.each(SPOILED)('$check: "$rule"', ({ check, rule, change, outcome = OPEN, verdict }) => {
  const { checks, units } = assessedWith(change);
  const found = named(checks, check);
  expect([found.outcome, found.findings.map((finding) => finding.rule)]).toEqual([
    outcome,
    expect.arrayContaining([rule]),
  ]);
  const finding = found.findings.find((item) => item.rule === rule)!;
  expect(finding.units).toEqual(['L-1-I1']);
  const { says, clearedBy } = findingWords(check, finding);
  expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object|assess the lot again/);
  expect(says).toMatch(/\.$/);
  // The assessment goes into the copy for the institution of another case: no word of this one.
  expect(JSON.stringify(found.findings)).not.toMatch(/invented site|Dr Example|Invented Hospital|left/);
  const [first, second] = units;
  expect([first!.verdict, first!.releasable, second!.releasable]).toEqual([verdict, false, true]);
});

it('lets nobody concede side, acceptance, iteration or a cancelled case', () => {
  const never = SPOILED.filter(({ check }) =>
    ['case-open', 'design-still-current', 'design-accepted', 'side-agrees'].includes(check),
  );
  for (const { check, change } of never) {
    const { checks } = assessedWith(change);
    expect(named(checks, check).findings.map(({ mayBeDecided }) => mayBeDecided)).toEqual(['no']);
  }
});

it('asks nothing of designs where no law is named and none is there, and of iteration and case all the same', () => {
  const { checks, units } = assess(signedFacts(without), 'test');
  const asked = CHECKS.filter((code) => named(checks, code).outcome !== 'does not apply');
  expect(asked).toEqual(['case-open', 'design-still-current']);
  expect(units.map(({ verdict }) => verdict)).toEqual([GOOD, GOOD]);
});

it('asks for design and acceptance where a law is named, by its family or by the case', () => {
  for (const name of [
    (copy: Editable) => {
      copy.family.body.laws = [{ law: 'EU', route: 'custom-made' }];
    },
    (copy: Editable) => {
      for (const found of copy.cases.values()) found.body.usedUnder = 'EU';
    },
  ]) {
    const { checks, units } = assess(signedFacts(edited(without, name)), 'test');
    const rules = (code: string) => named(checks, code).findings.map(({ rule }) => rule);
    expect(rules('design-inside-envelope')).toEqual(['no design', 'no design']);
    expect(rules('design-accepted')).toEqual(['not accepted', 'not accepted']);
    expect(units.map(({ verdict }) => verdict)).toEqual([OPEN, OPEN]);
  }
});

it('comes to the same by the note for strangers alone, whatever is spoilt', () => {
  for (const change of [() => {}, ...SPOILED.map((one) => one.change)]) {
    const spoilt = listed(
      signedFacts(
        edited(facts, (copy) => {
          change((kind) => copy.caseParts.get(ONE).pinned.find((item: Editable) => item.kind === kind)?.body, copy);
          for (const [code, part] of copy.caseParts) {
            part.pinned.find((item: Editable) => item.kind === 'case').body = copy.cases.get(code).body;
          }
        }),
      ),
    );
    const carried = attachedOf(spoilt, assess(spoilt, 'test'));
    expect(checkAll(carried)).toEqual(statedChecks(carried));
  }
});

/** What is written of the program of both designs, in the part of each case. */
const programIn =
  (write: (body: Editable) => void) =>
  ({ caseParts }: Editable): void => {
    for (const { pinned } of caseParts.values()) write(pinned.find(({ kind }: Editable) => kind === 'software').body);
  };
/** As if the recipe named the program of the designs, and the build showed these. */
const inBuild =
  (isNamed: boolean, software?: readonly object[]) =>
  ({ recipes, lot }: Editable): void => {
    if (isNamed) recipes.get('RC rev 2').body.software = [{ software: 'CAD', revision: 1 }];
    if (software) lot.body.builds[0].software = software;
  };
const RAN = [{ software: 'CAD', version: '7.1' }];
const PROGRAMS: readonly (readonly [string[], CheckResult['outcome'], (copy: Editable) => void])[] = [
  [[], 'passes', () => {}],
  [[], 'passes', inBuild(true, RAN)],
  [['no approval'], OPEN, programIn((body) => delete body.approval)],
  [['approved after the build'], OPEN, programIn(({ approval }) => Object.assign(approval, { at: LATE }))],
  [
    ['validated after the build'],
    OPEN,
    programIn(({ validatedBy }) => Object.assign(validatedBy, { on: '2031-03-04' })),
  ],
  [['version not stated'], OPEN, inBuild(true)],
  [['another version'], OPEN, inBuild(true, [{ ...RAN[0], version: '7.2' }])],
  [['another version'], OPEN, inBuild(true, [...RAN, { ...RAN[0], version: '7.2' }] as object[])],
  [['not named by the recipe'], OPEN, inBuild(false, RAN)],
  [
    ['not on record'],
    OPEN,
    ({ caseParts }) => {
      for (const part of caseParts.values())
        part.pinned = part.pinned.filter((item: Editable) => item.kind !== 'software');
    },
  ],
];

it.each(PROGRAMS)('software-as-validated: %j', (rules, outcome, change) => {
  const lot = listed(signedFacts(edited(facts, change)));
  const assessed = assess(lot, 'test');
  const found = named(assessed.checks, 'software-as-validated');
  expect([found.outcome, found.findings.map(({ rule }) => rule)]).toEqual([outcome, rules]);
  expect(assessed.releasable).toEqual(rules.length === 0 ? ['L-1-I1', 'L-1-I2'] : []);
  for (const finding of found.findings) {
    const { says, clearedBy } = findingWords(found.code, finding);
    expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object|assess the lot again/);
  }
  const carried = attachedOf(lot, assessed);
  expect(checkAll(carried)).toEqual(statedChecks(carried));
});

it('does not ask for programs where neither design, recipe nor build names one', () => {
  expect(named(assess(signedFacts(without), 'test').checks, 'software-as-validated').outcome).toBe('does not apply');
});
