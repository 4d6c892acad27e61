import { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { covers, type SignedStatement } from '../dossier/statement.js';
import type { Enclosure } from '../records/enclosure.js';
import { summaryOf } from '../report/lot-summary.js';
import { statementName } from './check-statements.js';
import type { Steps } from './report.js';

/**
 * Makes the first page of the lot again from the lot file and the assessment that the record carries, and compares it with
 * the one that each reviewer and releaser of this very lot file signed. Signatures on an earlier state of the lot name
 * another first page, and other rules may say it otherwise: neither is compared.
 */
export function checkSummaries(
  { signatures, dossierSha256, assessmentSha256 }: Pick<Enclosure, 'signatures' | 'dossierSha256' | 'assessmentSha256'>,
  facts: Facts,
  assessmentText: string,
  steps: Steps,
): void {
  const sawThis = (signed: SignedStatement) =>
    covers(signed.statement, dossierSha256) && besideOf(signed, 'assessment') === assessmentSha256;
  const own = signatures.filter((signed) => sawThis(signed) && besideOf(signed, 'summary') !== undefined);
  const { success, data } = Assessment.safeParse(JSON.parse(assessmentText));
  if (own.length === 0 || !success || data.version !== ASSESSMENT_VERSION) {
    steps.skip('first page', { code: 'first page not signed' });
    return;
  }
  const again = digestOf(summaryOf(facts, data));
  const other = own.find((signed) => besideOf(signed, 'summary') !== again);
  if (other) steps.broken('first page', { code: 'another first page', facts: { statement: statementName(other) } });
  else steps.holds('first page', { code: 'first page as signed', facts: { count: own.length } });
}

const besideOf = ({ statement }: SignedStatement, kind: string): string | undefined =>
  statement.beside.find((one) => one.kind === kind)?.digest;
