import { assess } from '../../src/assessment/assess.js';
import type { CheckResult } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { checkAll, statedChecks } from '../support/by-note/checks.js';
import { addDesigns } from '../support/documents/designs.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf, listed } from '../support/note-files.js';
import { signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => addDesigns(cell));
});

const assessedWith = (change: (copy: Editable) => void) => assess(signedFacts(edited(facts, change)), 'test');
const permissionOf = (copy: Editable): Editable =>
  copy.dossier.pinned.find((item: Editable) => item.kind === 'route-permission');
const named = (checks: readonly CheckResult[], code: string) => checks.find((check) => check.code === code)!;

/** Family, case and permission under another law and route. */
const under =
  (law: string, route: string, more: Editable = {}) =>
  (copy: Editable) => {
    copy.family.body.laws = [{ law, route, ...more }];
    for (const { body } of copy.cases.values()) body.usedUnder = law;
    Object.assign(permissionOf(copy).body, { law, route, ...more });
  };

const BOTH = ['L-1-I1', 'L-1-I2'];
const ofFirst = ({ lot }: Editable): Editable => lot.body.implants.find(({ serial }: Editable) => serial === BOTH[0]);
const caseOfFirst = ({ cases }: Editable): Editable => cases.get('K-101-1').body;
const label = (read: readonly string[]) => (copy: Editable) => {
  copy.lot.body.labels = { printed: 2, used: 2, destroyed: 0, read };
  copy.family.body.udiDi = '09506000134352';
};
const CODES = ['L-1-I1', 'L-1-I2'].map((serial) => `(01)09506000134352(10)L-1(21)${serial}`);

const SPOILED: readonly [
  check: string,
  rule: string,
  outcome: CheckResult['outcome'],
  change: (copy: Editable) => void,
][] = [
  [
    'route-needs',
    'no permission',
    'cannot be decided',
    (copy) => {
      copy.dossier.pinned = copy.dossier.pinned.filter((item: Editable) => item.kind !== 'route-permission');
    },
  ],
  [
    'route-needs',
    'no approval',
    'cannot be decided',
    (copy) => {
      delete permissionOf(copy).body.approval;
    },
  ],
  [
    'route-needs',
    'not answered',
    'cannot be decided',
    (copy) => {
      delete permissionOf(copy).body.cardDecision;
    },
  ],
  [
    'route-needs',
    'condition not met',
    'cannot be decided',
    (copy) => {
      permissionOf(copy).body.answers = [{ condition: 'one patient', answer: 'not met', grounds: 'invented' }];
    },
  ],
  [
    'route-needs',
    'place of manufacture not covered',
    'cannot be decided',
    (copy) => {
      permissionOf(copy).body.sites = ['elsewhere'];
    },
  ],
  [
    'route-needs',
    'no route under this law',
    'cannot be decided',
    (copy) => {
      copy.family.body.laws = [{ law: 'US', route: 'market' }];
    },
  ],
  ['route-needs', 'no such route', 'cannot be decided', under('US', 'in-house')],
  ['route-needs', 'no device identifier', 'cannot be decided', under('US', 'patient-matched')],
  ['route-needs', 'another legal entity', 'cannot be decided', under('EU', 'in-house')],
  [
    'statement-signed',
    'not complete',
    'cannot be decided',
    (copy) => {
      delete copy.family.body.conformity;
    },
  ],
  [
    'codes-read',
    'none read',
    'cannot be decided',
    (copy) => {
      under('EU', 'patient-matched')(copy);
      copy.lot.body.labels = { printed: 2, used: 2, destroyed: 0 };
    },
  ],
  ['codes-read', 'not readable', 'fails', label([`${CODES[0]!}(21)again`, CODES[1]!])],
  ['codes-read', 'no implant of the lot', 'fails', label(['(01)09506000134352(21)L-2-I1'])],
  ['codes-read', 'another lot', 'fails', label(['(01)09506000134352(10)L-2(21)L-1-I1'])],
  ['codes-read', 'another device', 'fails', label(['(01)04012345678901(10)L-1(21)L-1-I1'])],
  ['codes-read', 'no device identifier', 'fails', label(['L-1-I1'])],
  [
    'codes-read',
    'fewer read than inspected',
    'cannot be decided',
    (copy) => {
      label([CODES[0]!])(copy);
      copy.lot.body.labels.inspected = { sample: 2, by: 'P-OP', at: '2031-03-06T09:00:00+01:00' };
    },
  ],
  ['codes-read', 'read twice', 'fails', label([CODES[0]!, CODES[0]!])],
];

it('passes where everything is there that law and route ask for', () => {
  const { checks, units } = assessedWith(label(CODES));
  for (const code of ['route-needs', 'statement-signed', 'codes-read']) {
    expect([code, named(checks, code).outcome]).toEqual([code, 'passes']);
  }
  expect(units.every(({ releasable }) => releasable)).toBe(true);
});

it.each(SPOILED)('%s: "%s"', (check, rule, outcome, change) => {
  const { checks, units } = assessedWith(change);
  const found = named(checks, check);
  expect([found.outcome, found.findings.map((finding) => finding.rule)]).toEqual([
    outcome,
    expect.arrayContaining([rule]),
  ]);
  const finding = found.findings.find((item) => item.rule === rule)!;
  const { says, clearedBy } = findingWords(check, finding);
  expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object|assess the lot again/);
  expect(finding.mayBeDecided).toBe('no');
  for (const { serial, releasable } of units) {
    if (finding.units.includes(serial)) expect([serial, releasable]).toEqual([serial, false]);
  }
});

/** Items of Annex XIII, 1, in their order (from memory), each said otherwise than it was signed for the first implant. */
const ITEMS: readonly (readonly [item: string, units: readonly string[], change: (copy: Editable) => void])[] = [
  ['maker', BOTH, ({ family }) => (family.body.manufacturer.address = 'Another Street 2')],
  ['places of manufacture', BOTH, ({ family }) => family.body.manufacturer.sites.push('Another Street 2')],
  ['authorised representative', BOTH, ({ family }) => (family.body.manufacturer.representative = 'Somebody else')],
  ['device', BOTH, ({ family }) => (family.body.alloy = 'Mg-2Ca')],
  ['patient', ['L-1-I1'], (copy) => (ofFirst(copy).case = 'K-101-2')],
  ['prescriber', ['L-1-I1'], (copy) => (caseOfFirst(copy).prescriber.name = 'Dr Other (fictional)')],
  ['institution', ['L-1-I1'], (copy) => (caseOfFirst(copy).prescriber.institution = 'Another Hospital')],
  ['prescription', ['L-1-I1'], (copy) => (caseOfFirst(copy).prescription.reference = 'RX-9')],
  ['characteristics', ['L-1-I1'], (copy) => (caseOfFirst(copy).prescribedCharacteristics = 'another plate')],
  ['site', ['L-1-I1'], (copy) => (caseOfFirst(copy).anatomicalSite = 'another site')],
  ['exceptions', BOTH, ({ family }) => (family.body.conformity.exceptions = [{ requirement: '10.4', grounds: 'x' }])],
  ['substances', BOTH, ({ family }) => (family.body.conformity.substances = 'tissue of bovine origin')],
];

it.each(ITEMS)('wants the statement signed as it reads now: %s', (_, units, change) => {
  const { checks } = assess(edited(signedFacts(facts), change), 'test');
  const { findings } = named(checks, 'statement-signed');
  expect(findings.map(({ rule }) => rule)).toEqual(units.map(() => 'not signed'));
  expect(findings.flatMap((one) => one.units).sort()).toEqual(units);
  expect(findings[0]!.facts.statement).toMatch(/^[0-9a-f]{64}$/);
});

it('asks for a permission with its number under a law that it knows nothing of', () => {
  const { checks } = assessedWith((copy) => {
    under('NZ', 'custom-made')(copy);
    delete permissionOf(copy).body.number;
  });
  expect(named(checks, 'route-needs').findings.map(({ rule, facts: told }) => [rule, told.need])).toEqual([
    ['not answered', 'permission'],
  ]);
  expect(named(checks, 'statement-signed').outcome).toBe('does not apply');
});

it('lets one permission answer for what another lacks', () => {
  const { checks } = assessedWith((copy) => {
    const {
      body: { cardDecision, ...body },
      ...item
    } = permissionOf(copy);
    expect(cardDecision).toBeDefined();
    copy.dossier.pinned.push({ ...item, revision: 2, digest: '00'.repeat(32), body });
  });
  expect(named(checks, 'route-needs').outcome).toBe('passes');
});

it('comes to the same by the note for strangers alone, whatever is spoilt', () => {
  for (const change of [() => {}, ...SPOILED.map(([, , , spoil]) => spoil)]) {
    const spoilt = listed(
      signedFacts(
        edited(facts, (copy) => {
          change(copy);
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
