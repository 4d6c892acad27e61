import { assess } from '../../src/assessment/assess.js';
import { digestOf } from '../../src/dossier/canonical.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import { closurePart, dispositionPart, type Nonconformity } from '../../src/kinds/nonconformity.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { checkAll, statedChecks } from '../support/by-note/checks.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf, listed } from '../support/note-files.js';
import { signedFacts, statement } from '../support/signed-facts.js';

const CHECK = 'nonconformities-closed';
const AT = '2031-03-04T10:00:00+01:00';
const WHOLE = {
  kind: 'nonconformity',
  format: 1,
  nonconformity: 'NC-1',
  opened: { by: 'P-OP', at: '2031-03-04T09:00:00+01:00' },
  says: 'a scratch on the face (invented)',
  touches: [{ kind: 'implant', key: 'L-1-I1' }],
  evaluation: { cause: 'a tool (invented)', riskFile: 'no', by: 'P-QE', at: AT },
  disposition: [{ units: ['L-1-I1'], as: 'no effect', justification: 'below the limit (invented)' }],
  closure: { by: 'P-QE', at: AT, says: 'all was done (invented)' },
};

let facts: Facts;
let without: Facts;
beforeAll(async () => {
  without = await factsOf();
  facts = await factsOf((cell) => {
    cell.documents['lots/nonconformity.yaml'] = WHOLE;
  });
});

type Change = (body: Editable) => void;
type Signed = 'all' | 'half' | 'rejected' | 'not closed' | 'none';

function lotWith(change: Change = () => {}, signed: Signed = 'all'): Facts {
  const copy = edited(facts, ({ dossier }) => {
    change(dossier.pinned.find(({ kind }: Editable) => kind === 'nonconformity').body);
  });
  const { body } = copy.dossier.pinned.find(({ kind }) => kind === 'nonconformity')!;
  return signedFacts(copy, ...signaturesOn(body as Nonconformity, signed));
}

function signaturesOn(body: Nonconformity, signed: Signed): SignedStatement[] {
  const [disposition, closure] = [dispositionPart(body, digestOf), closurePart(body, digestOf)];
  const deciders = signed === 'none' ? [] : signed === 'half' ? ['P-PE'] : ['P-PE', 'P-QE'];
  const outcome = signed === 'rejected' ? 'rejected' : 'accepted';
  return [
    ...(disposition
      ? deciders.map((by) => statement('decided', { ...disposition, revision: null }, by, { outcome }))
      : []),
    ...(closure && signed === 'all' ? [statement('approved', { ...closure, revision: null }, 'P-QE')] : []),
  ];
}

const foundIn = (lot: Facts) => assess(lot, 'test').checks.find(({ code }) => code === CHECK)!;

const SPOILED: readonly [rule: string, units: readonly string[], change: Change, signed?: Signed][] = [
  [
    'not evaluated',
    ['L-1-I1'],
    (body) => {
      delete body.evaluation;
      delete body.disposition;
      delete body.closure;
    },
  ],
  [
    'no disposition',
    ['L-1-I1'],
    (body) => {
      delete body.disposition;
      delete body.closure;
    },
  ],
  ['disposition not decided', ['L-1-I1'], () => {}, 'none'],
  ['disposition not decided', ['L-1-I1'], () => {}, 'half'],
  ['disposition rejected', ['L-1-I1'], () => {}, 'rejected'],
  [
    'not closed',
    ['L-1-I1'],
    (body) => {
      delete body.closure;
    },
  ],
  ['closure not approved', ['L-1-I1'], () => {}, 'not closed'],
  [
    'closure not approved',
    ['L-1-I2'],
    (body) => {
      body.touches = [{ kind: 'coupon', key: 'L-1-W2' }];
    },
    'not closed',
  ],
  [
    'closure not approved',
    ['L-1-I1', 'L-1-I2'],
    (body) => {
      body.touches = [{ kind: 'powder-state', key: 'PS-1' }];
    },
    'not closed',
  ],
  [
    'not to be released',
    ['L-1-I1'],
    (body) => {
      body.disposition[0].as = 'scrap';
    },
  ],
];

it('carries the nonconformity in the lot file, and passes once it was decided and closed', () => {
  const lot = lotWith();
  expect(foundIn(lot)).toMatchObject({ outcome: 'passes', claims: [{ facts: { key: 'NC-1' } }] });
  expect(assess(lot, 'test').units.every(({ releasable }) => releasable)).toBe(true);
});

it.each(SPOILED)('"%s" holds back %s, and nobody concedes it', (rule, units, change, signed) => {
  const lot = lotWith(change, signed);
  const { outcome, findings } = foundIn(lot);
  expect([outcome, findings.map((finding) => [finding.rule, finding.units])]).toEqual(['fails', [[rule, units]]]);
  const { says, clearedBy } = findingWords(CHECK, findings[0]!);
  expect(`${says} ${clearedBy}`).not.toMatch(/undefined|\[object|assess the lot again/);
  expect(findings[0]!.mayBeDecided).toBe('no');
  for (const { serial, releasable } of assess(lot, 'test').units) {
    expect([serial, releasable]).toEqual([serial, !units.includes(serial)]);
  }
});

it('wants what was decided to be decided again when it reads otherwise', () => {
  const lot = edited(lotWith(), ({ dossier }) => {
    const { body } = dossier.pinned.find(({ kind }: Editable) => kind === 'nonconformity');
    body.disposition[0].justification = 'another (invented)';
  });
  expect(foundIn(lot).findings.map(({ rule }) => rule)).toEqual(['disposition not decided']);
});

it('does not apply to a lot that none touches', () => {
  expect(foundIn(signedFacts(without)).outcome).toBe('does not apply');
});

it('comes to the same by the note for strangers alone, whatever is spoilt', () => {
  for (const lot of [lotWith(), ...SPOILED.map(([, , change, signed]) => lotWith(change, signed))]) {
    const spoilt = listed(lot);
    const carried = attachedOf(spoilt, assess(spoilt, 'test'));
    expect(checkAll(carried)).toEqual(statedChecks(carried));
  }
});
