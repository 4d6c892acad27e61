import { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { digestOf, sha256Hex } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { besideOf, covers, type SignedStatement } from '../dossier/statement.js';
import type { Enclosure } from '../records/enclosure.js';
import { summaryOf } from '../report/lot-summary.js';
import { statementName } from './check-statements.js';
import { jsonOf } from './read-carried.js';
import type { Steps } from './report.js';

type Signed = Pick<Enclosure, 'signatures' | 'summaries' | 'dossierSha256' | 'assessmentSha256'>;

/**
 * Holds the first pages that the record carries against the digests that reviewers and releasers signed. That of the very lot
 * file shown is made again from it besides; other rules may say it otherwise, and then it is not.
 */
export function checkSummaries(enclosure: Signed, facts: Facts, assessmentText: string, steps: Steps): void {
  const carried = new Map((enclosure.summaries ?? []).map(({ sha256, text }) => [sha256, text]));
  for (const [sha256, text] of carried) {
    if (sha256Hex(text) === sha256) continue;
    steps.broken('first page', { code: 'first page altered', facts: { sha256 } });
    return;
  }
  const signed = enclosure.signatures.filter((one) => summaryOn(one) !== undefined);
  const again = madeAgain(facts, assessmentText);
  const onThis = again === undefined ? [] : signed.filter((one) => isOnThis(one, enclosure));
  const other = onThis.find((one) => summaryOn(one) !== again);
  if (other) {
    steps.broken('first page', { code: 'another first page', facts: { statement: statementName(other) } });
    return;
  }
  const compared = signed.filter((one) => carried.has(summaryOn(one)!) || onThis.includes(one));
  if (compared.length === 0) {
    steps.skip('first page', { code: signed.length === 0 ? 'first page not signed' : 'first page not carried' });
    return;
  }
  const counts = { count: compared.length, again: onThis.length, missing: signed.length - compared.length };
  steps.holds('first page', { code: 'first page as signed', facts: counts });
}

/** Digest of the first page of the lot file that is shown, by the rules of this program; undefined where others assessed it. */
function madeAgain(facts: Facts, assessmentText: string): string | undefined {
  const { data } = Assessment.safeParse(jsonOf(assessmentText));
  return data?.version === ASSESSMENT_VERSION ? digestOf(summaryOf(facts, data)) : undefined;
}

const isOnThis = (signed: SignedStatement, { dossierSha256, assessmentSha256 }: Signed): boolean =>
  covers(signed.statement, dossierSha256) && besideOf(signed.statement, 'assessment') === assessmentSha256;

const summaryOn = ({ statement }: SignedStatement): string | undefined => besideOf(statement, 'summary');
