import { assess } from '../../src/assessment/assess.js';
import { nonconformitiesOf } from '../../src/assessment/nonconformities.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { Nonconformity } from '../../src/kinds/nonconformity.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { summaryOf } from '../../src/report/lot-summary.js';
import { summaryLines } from '../../src/report/summary-lines.js';
import { checkAll, statedChecks } from '../support/by-note/checks.js';
import { NONCONFORMITY, type SignedSoFar, signaturesOn } from '../support/documents/nonconformity.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays, attachedOf, listed } from '../support/note-files.js';
import { signedFacts } from '../support/signed-facts.js';

const CHECK = 'nonconformities-closed';

let facts: Facts;
let without: Facts;
beforeAll(async () => {
  without = await factsOf();
  facts = await factsOf((cell) => {
    cell.documents['lots/nonconformity.yaml'] = NONCONFORMITY;
  });
});

type Change = (body: Editable) => void;
function lotWith(
  change: Change = () => {},
  { signed = 'all', spoil = () => {} }: { signed?: SignedSoFar | undefined; spoil?: (copy: Editable) => void } = {},
): Facts {
  const copy = edited(facts, (one) => {
    spoil(one);
    change(one.dossier.pinned.find(({ kind }: Editable) => kind === 'nonconformity').body);
  });
  const { body } = copy.dossier.pinned.find(({ kind }) => kind === 'nonconformity')!;
  return signedFacts(copy, ...signaturesOn(body as Nonconformity, signed));
}

const foundIn = (lot: Facts) => assess(lot, 'test').checks.find(({ code }) => code === CHECK)!;

const SPOILED: readonly [rule: string, units: readonly string[], change: Change, signed?: SignedSoFar][] = [
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

it('asks for no rows of logs, which pages read without', () => {
  const paged = Object.defineProperty({ ...facts }, 'summaries', {
    enumerable: true,
    get: () => {
      throw new Error('the log summaries are not here');
    },
  });
  expect(nonconformitiesOf(paged)).toHaveLength(1);
});

it('carries the nonconformity in the lot file, and passes once it was decided and closed', () => {
  const lot = lotWith();
  expect(foundIn(lot)).toMatchObject({ outcome: 'passes', claims: [{ facts: { key: 'NC-1' } }] });
  expect(assess(lot, 'test').units.every(({ releasable }) => releasable)).toBe(true);
});

it.each(SPOILED)('"%s" holds back %s, and nobody concedes it', (rule, units, change, signed) => {
  const lot = lotWith(change, { signed });
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

/** What a check finds against the first implant, let go by a concession of the nonconformity. */
function conceded(spoil: (copy: Editable) => void, signed: SignedSoFar = 'all'): Facts {
  const spoilt = signedFacts(edited(facts, spoil));
  const against = assess(spoilt, 'test').checks.find(
    ({ code, findings }) => code !== CHECK && findings.some(({ units }) => units.includes('L-1-I1')),
  )!;
  return lotWith(
    (body) => {
      body.findings = against.findings.map(({ id }) => id);
      body.disposition[0].as = 'concession';
      body.disposition[0].clause = 'clause 4 (invented)';
    },
    { signed, spoil },
  );
}

const tooThick = ({ results }: Editable): void => {
  results.find((row: Editable) => row.specimen === 'L-1-I1').value = '1.600';
};

it('lets go what a decided concession names, with its verdict unchanged, and page 1 says so', () => {
  const lot = conceded(tooThick);
  const assessed = assessBothWays(lot);
  expect(assessed.units[0]).toMatchObject({ serial: 'L-1-I1', verdict: 'does not conform', releasable: true });
  const says = summaryLines(summaryOf(lot, assessed), lot).map((line) => line.says);
  expect(says).toContain('1 nonconformity: NC-1 (L-1-I1)');
  expect(says).toContain('Let go as it is by the concession of NC-1, by clause 4 (invented) (L-1-I1)');
});

it.each([
  ['that one of two signed', tooThick, 'half'],
  ['of a case that was cancelled', cancelled, 'all'],
] as const)('lets nothing go by a concession %s', (_, spoil, signed) => {
  const assessed = assessBothWays(conceded(spoil, signed));
  expect(assessed.units[0]).toMatchObject({ serial: 'L-1-I1', releasable: false });
});

function cancelled({ cases, caseParts }: Editable): void {
  const status = { is: 'cancelled', at: '2031-03-04T09:00:00+01:00', by: 'P-QE' };
  cases.get('K-101-1').body.status = status;
  for (const { body } of caseParts.get('K-101-1').pinned) if (body.case === 'K-101-1') body.status = status;
}

it('does not apply to a lot that none touches', () => {
  expect(foundIn(signedFacts(without)).outcome).toBe('does not apply');
});

it('comes to the same by the note for strangers alone, whatever is spoilt', () => {
  for (const lot of [lotWith(), ...SPOILED.map(([, , change, signed]) => lotWith(change, { signed }))]) {
    const spoilt = listed(lot);
    const carried = attachedOf(spoilt, assess(spoilt, 'test'));
    expect(checkAll(carried)).toEqual(statedChecks(carried));
  }
});
