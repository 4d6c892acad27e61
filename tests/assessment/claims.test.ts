import type { Facts } from '../../src/dossier/facts.js';
import { certificateSubject, receiptSubject, revisionSubject } from '../../src/dossier/signable.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { checkersOf } from '../../src/report/certificate-lines.js';
import { peopleText } from '../../src/report/result-rows.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { decidedByBoth, signedFacts, statement } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

const isOn = (digest: string) => (signed: SignedStatement) =>
  signed.statement.subjects.some((subject) => subject.digest === digest);

/** The facts as signed, with whoever signed one thing replaced by others. */
function signedBy(digest: string, others: readonly SignedStatement[]): Facts {
  const all = signedFacts(facts);
  const signatures = [...all.signatures.filter((signed) => !isOn(digest)(signed)), ...others];
  return { ...all, signatures, dossier: { ...all.dossier, signatures } };
}

const checkOf = (of: Facts) => assessBothWays(of).checks.find(({ code }) => code === 'claims-agree')!;

const receipt = () => facts.receipts.get('R-1')!.body;
const sheet = () => [...facts.resultSets.values()].find(({ key }) => key.includes('size'))!;
const recipe = () => facts.dossier.pinned.find(({ kind }) => kind === 'recipe')!;

it('passes where each file names whoever signed, and says of how many', () => {
  expect(checkOf(signedFacts(facts))).toMatchObject({ outcome: 'passes', findings: [] });
});

it('asks nothing where nobody signed: what is claimed only, other checks tell', () => {
  expect(checkOf(facts)).toMatchObject({ outcome: 'passes', findings: [], basis: { signed: '0' } });
});

it('does not apply where no file names anybody', () => {
  const silent = edited(facts, ({ pinned, results, dossier }: Editable) => {
    for (const { body } of pinned) {
      delete body.approval;
      delete body.acceptance;
      delete body.certificate;
    }
    for (const row of results) row.checkedBy = '';
    dossier.signatures = [];
  });
  expect(checkOf(silent)).toMatchObject({ outcome: 'does not apply' });
});

it.each([
  {
    what: 'a certificate',
    digest: () => certificateSubject(receipt())!.digest,
    signed: () => statement('checked', certificateSubject(receipt())!, 'P-AN'),
    says: 'certificate of receipt R-1: the file names Quentin Example (P-QE) for "checked", and P-AN (P-AN) signed it.',
  },
  {
    what: 'a receipt',
    digest: () => receiptSubject(receipt()).digest,
    signed: () => statement('approved', receiptSubject(receipt()), 'P-RL'),
    says: 'receipt R-1: the file names Quentin Example (P-QE) for "approved", and P-RL (P-RL) signed it.',
  },
  {
    what: 'a result sheet',
    digest: () => sheet().digest,
    signed: () => statement('checked', revisionSubject({ ...sheet(), kind: 'result-set' }), 'P-OP'),
    says: 'result sheet L-1:results/size.csv: the file names Quentin Example (P-QE) for "checked", and P-OP (P-OP) signed it.',
  },
  {
    what: 'a document',
    digest: () => recipe().digest,
    signed: () => statement('approved', revisionSubject(recipe()), 'P-RL'),
    says: 'recipe RC rev 2: the file names Quentin Example (P-QE) for "approved", and P-RL (P-RL) signed it.',
  },
])('$what that names another person than its signer leaves the check undecided, with both names', (row) => {
  const found = checkOf(signedBy(row.digest(), [row.signed()]));
  expect(found.outcome).toBe('cannot be decided');
  expect(found.findings.map((finding) => findingWords('claims-agree', finding).says)).toEqual([row.says]);
  expect(found.findings[0]!.units).toEqual(['L-1-I1', 'L-1-I2']);

  const [finding] = found.findings;
  const decided = signedBy(row.digest(), [row.signed(), ...decidedByBoth(finding!.id)]);
  expect(checkOf(decided).outcome).toBe('passes');
});

it('takes a deputy for the person whose place they took', () => {
  const signed = statement('approved', receiptSubject(receipt()), 'P-DQ');
  const deputy = { ...signed.statement, person: { ...signed.statement.person, deputyFor: 'P-QE' } };
  expect(checkOf(signedBy(receiptSubject(receipt()).digest, [{ ...signed, statement: deputy }])).outcome).toBe(
    'passes',
  );
});

it('compares a decision that the lot file claims by its outcome too', () => {
  const finding = 'a'.repeat(64);
  const claimed = edited(facts, ({ lot }: Editable) => {
    const by = { by: 'P-PE', at: '2031-03-05T09:00:00+01:00' };
    lot.body.decisions = [{ finding: finding.slice(0, 12), decision: 'accepted', rationale: 'invented', ...by }];
  });
  expect(checkOf(signedFacts(claimed, ...decidedByBoth(finding))).outcome).toBe('passes');
  const rejected = checkOf(signedFacts(claimed, ...decidedByBoth(finding, 'rejected')));
  expect(findingWords('claims-agree', rejected.findings[0]!).says).toBe(
    `log finding ${'a'.repeat(12)}: the file names P-PE: accepted for "decided", and P-PE (P-PE): rejected, P-QE (P-QE): rejected signed it.`,
  );
});

it('prints who signed in place of whom the file claims, and a claim only as one', () => {
  const other = statement('checked', certificateSubject(receipt())!, 'P-AN');
  const digest = certificateSubject(receipt())!.digest;
  expect(checkersOf(signedBy(digest, [other]), receipt())).toBe('P-AN (P-AN)');
  expect(checkersOf(signedBy(digest, []), receipt())).toBe('P-QE (claimed, not signed)');

  const typed = facts.results.find(({ enteredBy }) => enteredBy !== '')!;
  const onSheet = statement('checked', revisionSubject({ ...sheet(), kind: 'result-set' }), 'P-OP');
  expect(peopleText(signedBy(sheet().digest, [onSheet]), typed)).toBe('P-AN, entered by P-AN, checked by P-OP');
  expect(peopleText(facts, typed)).toBe('P-AN, entered by P-AN, checked by P-QE (claimed, not signed)');
});
