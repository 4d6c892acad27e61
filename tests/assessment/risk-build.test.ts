import { assess } from '../../src/assessment/assess.js';
import type { CheckResult } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { receiptSubject, revisionSubject } from '../../src/dossier/signable.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { summaryOf } from '../../src/report/lot-summary.js';
import { summaryLines } from '../../src/report/summary-lines.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays, listed } from '../support/note-files.js';
import { signedFacts, statement } from '../support/signed-facts.js';

/** ISO 13485:2016 7.4.3 and 8.3.2; docs/trade.md 2.14. The chamber of the cell closed on 3 March 2031. */
const BEFORE = '2031-03-03T05:00:00.000Z';
const AFTER = '2031-03-04T09:00:00.000Z';
const CODES = ['material-accepted', 'risk-build-signed'];

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf(({ documents }) => {
    documents['lot/risk.yaml'] = {
      ...{ kind: 'risk-build', format: 1, build: 'M1-101', receipts: ['R-1'], implants: ['L-1-I1', 'L-1-I2'] },
      ...{ why: 'surgery is fixed (invented)', by: 'P-OP', at: '2031-03-02T08:00:00+01:00' },
    };
  });
});

interface Case {
  readonly acceptedAt?: string | undefined;
  readonly signed?: readonly (readonly [by: string, at: string, outcome?: 'rejected'])[];
  readonly change?: (copy: Editable) => void;
}

/** The lot with the receipt accepted at a time, or not at all, and the build at risk signed by these people. */
function lotWith({ acceptedAt, signed = [], change = () => {} }: Case): Facts {
  const copy = edited(facts, (all) => {
    if (acceptedAt === undefined) all.receipts.get('R-1').body.status = 'quarantine';
    change(all);
  });
  const own = receiptSubject(copy.receipts.get('R-1')!.body);
  const risk = copy.dossier.pinned.find(({ kind }) => kind === 'risk-build');
  const more: SignedStatement[] = risk
    ? signed.map(([by, at, outcome]) =>
        statement('decided', revisionSubject(risk), by, { at, outcome: outcome ?? 'accepted' }),
      )
    : [];
  const all = signedFacts(listed(copy), ...more);
  const signatures = all.signatures.filter(({ statement: { subjects } }) => subjects[0]!.digest !== own.digest);
  if (acceptedAt !== undefined) signatures.push(statement('approved', own, 'P-QE', { at: acceptedAt }));
  return { ...all, signatures, dossier: { ...all.dossier, signatures } };
}

const BOTH = [
  ['P-PE', BEFORE],
  ['P-QE', BEFORE],
] as const;

const none = (copy: Editable) => {
  copy.riskBuilds.clear();
  copy.dossier.pinned = copy.dossier.pinned.filter(({ kind }: Editable) => kind !== 'risk-build');
};

const TABLE: readonly (readonly [string, Case, string[], releasable: boolean[]])[] = [
  ['accepted before the chamber closed', { acceptedAt: BEFORE }, [], [true, true]],
  ['accepted later, allowed by both before', { acceptedAt: AFTER, signed: BOTH }, [], [true, true]],
  ['allowed and never accepted', { signed: BOTH }, ['not accepted'], [false, false]],
  [
    'accepted later, and nobody asked',
    { acceptedAt: AFTER, change: none },
    ['accepted after the build'],
    [false, false],
  ],
  ['accepted later, nobody signed', { acceptedAt: AFTER }, ['not signed by both'], [false, false]],
  ['signed by one role', { acceptedAt: AFTER, signed: [BOTH[1]] }, ['not signed by both'], [false, false]],
  [
    'the second signed after the chamber closed',
    { acceptedAt: AFTER, signed: [BOTH[0], ['P-QE', AFTER]] },
    ['signed after the chamber closed'],
    [false, false],
  ],
  [
    'rejected by one',
    { acceptedAt: AFTER, signed: [BOTH[0], ['P-QE', BEFORE, 'rejected']] },
    ['rejected'],
    [false, false],
  ],
  [
    'an implant that nobody allowed',
    { acceptedAt: AFTER, signed: BOTH, change: (copy) => copy.riskBuilds.get('M1-101').body.implants.pop() },
    ['unit not named'],
    [true, false],
  ],
  [
    'of another receipt',
    { acceptedAt: AFTER, signed: BOTH, change: (copy) => (copy.riskBuilds.get('M1-101').body.receipts = ['R-9']) },
    ['accepted after the build'],
    [false, false],
  ],
];

const named = (checks: readonly CheckResult[], code: string) => checks.find((check) => check.code === code)!;

it.each(TABLE)('%s', (_what, spoilt, rules, releasable) => {
  const { checks, units } = assessBothWays(lotWith(spoilt));
  const found = CODES.flatMap((code) => named(checks, code).findings.map((finding) => ({ code, finding })));
  expect(found.map(({ finding }) => finding.rule)).toEqual(rules);
  expect(units.map((unit) => unit.releasable)).toEqual(releasable);
  for (const { code, finding } of found) {
    const { says, clearedBy } = findingWords(code, finding);
    expect(`${says} ${clearedBy}`).not.toMatch(/undefined|assess the lot again/);
  }
});

it('applies only where something was not accepted when the chamber closed', () => {
  const outcomeOf = (spoilt: Case) => named(assess(lotWith(spoilt), 'test').checks, 'risk-build-signed');
  expect(outcomeOf({ acceptedAt: BEFORE }).outcome).toBe('does not apply');
  const kept = outcomeOf({ acceptedAt: AFTER, signed: BOTH });
  expect([kept.outcome, basisWords(kept)]).toEqual(['passes', 'M1-101: R-1']);
});

it('tells both times on the first page', () => {
  const lines = (spoilt: Case) => {
    const lot = lotWith(spoilt);
    return summaryLines(summaryOf(lot, assess(lot, 'test')), lot).map(({ says }) => says);
  };
  expect(lines({ acceptedAt: AFTER, signed: BOTH })).toContainEqual(
    expect.stringMatching(/^M1-101 built at risk from R-1, allowed 2031-03-03.*, its material accepted 2031-03-04/),
  );
  expect(lines({ signed: BOTH })).toContainEqual(expect.stringMatching(/its material not accepted yet: on hold/));
  expect(lines({ acceptedAt: BEFORE, signed: BOTH }).join()).not.toContain('at risk');
});
