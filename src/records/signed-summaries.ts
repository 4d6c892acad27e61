import { Assessment } from '../assessment/assessment.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { besideOf, type SignedStatement, soleSubject } from '../dossier/statement.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { summaryOf } from '../report/lot-summary.js';
import { frozenFactsOrWhy } from '../store/frozen-facts.js';
import type { Reads } from '../store/repositories.js';
import { readAs } from './changes-since.js';
import type { CarriedSummary } from './enclosure.js';

/**
 * First pages that reviewers and releasers signed, each once, whichever state of the lot they signed on. They are made again
 * from the lot file and the assessment of that day; one that comes to another digest now is left out.
 */
export async function signedSummaries(
  read: Reads,
  signatures: readonly SignedStatement[],
  { facts, assessment, dossierSha256, assessmentSha256 }: AssessedLot,
): Promise<CarriedSummary[]> {
  const found = new Map<string, CarriedSummary>();
  for (const { statement } of signatures) {
    const sha256 = besideOf(statement, 'summary');
    if (sha256 === undefined || found.has(sha256)) continue;
    const [lotFile, assessed] = [soleSubject(statement).digest, besideOf(statement, 'assessment')];
    const isShown = lotFile === dossierSha256 && assessed === assessmentSha256;
    const text = isShown ? canonicalJson(summaryOf(facts, assessment)) : await summaryThen(read, lotFile, assessed);
    if (text !== undefined && sha256Hex(text) === sha256) found.set(sha256, { sha256, text });
  }
  return [...found.values()];
}

async function summaryThen(read: Reads, lotFile: string, assessed: string | undefined): Promise<string | undefined> {
  if (assessed === undefined) return undefined;
  const assessment = readAs(Assessment, (await read.assessments.byDigest(assessed))?.body ?? 'null');
  const facts = await frozenFactsOrWhy(read, lotFile);
  return assessment === undefined || 'why' in facts ? undefined : canonicalJson(summaryOf(facts, assessment));
}
