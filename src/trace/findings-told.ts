import { Assessment } from '../assessment/assessment.js';
import { logFindingsOf } from '../assessment/log-findings.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import { besideOf, type SignedSubject, type Statement } from '../dossier/statement.js';
import type { CurrentAssessments } from '../lots/current-assessments.js';
import { checkTitle, findingWords } from '../report/assessment-words.js';
import { AUDITOR_ANSWERS } from '../report/phrases/auditor-questions.js';
import { levelText } from '../report/phrases/codes.js';
import { findingText } from '../report/phrases/log-finding.js';
import { frozenFactsOrWhy } from '../store/frozen-facts.js';
import type { Reads } from '../store/repositories.js';

/** What a finding was that somebody decided on. */
interface FindingTold {
  /** What it has in common with others of its sort. */
  readonly sort: string;
  readonly says: string;
  readonly lot: string;
}

/** What findings say, by what was signed of them: as it is said now, or as it was said before whoever decided. */
export function findingsTold({ read, current }: { readonly read: Reads; readonly current: CurrentAssessments }) {
  const units = current.units();
  const ofLots = new Map<string, Promise<readonly Named[]>>();
  const once = (name: string, ask: () => Promise<readonly Named[]>): Promise<readonly Named[]> => {
    const known = ofLots.get(name) ?? ask();
    ofLots.set(name, known);
    return known;
  };
  const inFacts = (facts: Facts | undefined): readonly Named[] =>
    facts === undefined ? [] : logFindingsOf(facts).map((one) => ({ id: one.id, ...logFindingTold(one) }));
  const inChecks = (checks: Assessment['checks']): readonly Named[] =>
    checks.flatMap(({ code, findings }) =>
      findings.map((one) => ({ id: one.id, sort: checkTitle(code), says: findingWords(code, one).says })),
    );
  /** What lay before the signer: a lot file that changed since had findings that nobody finds now. */
  const then = async (digest: string | undefined): Promise<readonly Named[]> => {
    const stored = digest === undefined ? undefined : await read.assessments.byDigest(digest);
    const { data } = Assessment.safeParse(stored && JSON.parse(stored.body));
    if (stored === undefined || data === undefined) return [];
    const facts = await frozenFactsOrWhy(read, stored.dossierDigest);
    return [...inChecks(data.checks), ...inFacts('why' in facts ? undefined : facts)];
  };
  return async (statement: Statement, { kind, key, digest }: SignedSubject): Promise<FindingTold> => {
    if (kind === 'log finding') {
      const found = await read.logs.finding(digest);
      return found === undefined ? notSaid('') : { lot: found.lot, ...logFindingTold(found.finding) };
    }
    const lot = key.slice(0, key.lastIndexOf(':'));
    const now =
      kind === 'check finding'
        ? once(`checks ${lot}`, async () =>
            inChecks([...((await units).get(lot)?.checks ?? [])] as Assessment['checks']),
          )
        : once(`log ${lot}`, async () => inFacts((await current.of(lot))?.facts));
    const beside = besideOf(statement, 'assessment');
    const found =
      (await now).find(({ id }) => id === digest) ??
      (await once(`then ${beside}`, () => then(beside))).find(({ id }) => id === digest);
    return found === undefined ? notSaid(lot) : { lot, sort: found.sort, says: found.says };
  };
}

/** A finding by its identity. */
type Named = Omit<FindingTold, 'lot'> & { readonly id: string };

const logFindingTold = (finding: Pick<LogFinding, 'rule' | 'level' | 'channel' | 'ucum' | 'facts'>) => ({
  sort: AUDITOR_ANSWERS.sort({ ...finding, level: levelText(finding.level) }),
  says: findingText(finding),
});

/** Rules of another version found it, in a form that this one does not read. */
const notSaid = (lot: string): FindingTold => ({ sort: '', says: AUDITOR_ANSWERS.notSaidNow, lot });
