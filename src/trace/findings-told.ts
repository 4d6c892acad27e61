import { logFindingsOf } from '../assessment/log-findings.js';
import type { LogFinding } from '../dossier/schema.js';
import type { SignedSubject } from '../dossier/statement.js';
import type { CurrentAssessments } from '../lots/current-assessments.js';
import { checkTitle, findingWords } from '../report/assessment-words.js';
import { AUDITOR_ANSWERS } from '../report/phrases/auditor-questions.js';
import { levelText } from '../report/phrases/codes.js';
import { findingText } from '../report/phrases/log-finding.js';
import type { Reads } from '../store/repositories.js';

/** What a finding was that somebody decided on. */
interface FindingTold {
  /** What it has in common with others of its sort. */
  readonly sort: string;
  readonly says: string;
  readonly lot: string;
}

/** What findings say, by what was signed of them; each lot is looked at once. */
export function findingsTold({ read, current }: { readonly read: Reads; readonly current: CurrentAssessments }) {
  const units = current.units();
  const logFindings = new Map<string, ReturnType<typeof findingsOfLot>>();
  const findingsOfLot = async (lot: string) => {
    const facts = (await current.of(lot))?.facts;
    return facts === undefined ? [] : logFindingsOf(facts);
  };
  return async (
    kind: 'log finding' | 'log finding group' | 'check finding',
    { key, digest }: Pick<SignedSubject, 'key' | 'digest'>,
  ): Promise<FindingTold> => {
    if (kind === 'log finding') {
      const found = await read.logs.finding(digest);
      return found === undefined ? notSaid('') : logFindingTold(found.lot, found.finding);
    }
    const lot = key.slice(0, key.lastIndexOf(':'));
    if (kind === 'log finding group') {
      if (!logFindings.has(lot)) logFindings.set(lot, findingsOfLot(lot));
      const group = (await logFindings.get(lot)!).find(({ id }) => id === digest);
      return group === undefined ? notSaid(lot) : logFindingTold(lot, group);
    }
    for (const { code, findings } of (await units).get(lot)?.checks ?? []) {
      const found = findings.find(({ id }) => id === digest);
      if (found !== undefined) return { sort: checkTitle(code), says: findingWords(code, found).says, lot };
    }
    return notSaid(lot);
  };
}

const logFindingTold = (lot: string, finding: Pick<LogFinding, 'rule' | 'level' | 'channel' | 'ucum' | 'facts'>) => ({
  ...{ sort: AUDITOR_ANSWERS.sort({ ...finding, level: levelText(finding.level) }), says: findingText(finding), lot },
});

/** The lot file changed since, or rules of another version found it. */
const notSaid = (lot: string): FindingTold => ({ sort: '', says: AUDITOR_ANSWERS.notSaidNow, lot });
