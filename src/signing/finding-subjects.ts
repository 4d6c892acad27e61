import { isGroup } from '../assessment/alike-findings.js';
import type { Assessment, CheckFinding } from '../assessment/assessment.js';
import { coverageOf } from '../assessment/coverage.js';
import { implantsActedOn, logFindingsOf } from '../assessment/log-findings.js';
import { NotFoundError } from '../base/errors.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import { findingSubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import { checkAnchor, findingAnchor } from '../report/anchors.js';
import { findingWords } from '../report/assessment-words.js';
import { lotAddress, nonconformityAddress } from '../report/page-addresses.js';
import { effectText } from '../report/phrases/codes.js';
import { findingText, whereText } from '../report/phrases/log-finding.js';
import type { Objection } from '../report/phrases/objections.js';
import { SHOWN, THINGS } from '../report/phrases/things.js';
import type { Reads } from '../store/repositories.js';
import type { LatestLot } from './lots-behind.js';
import type { Outcome, Signable } from './signable.js';
import { isFinding, type Thing, thingText } from './thing.js';

/** Findings that are decided, and what each shows. All throw NotFoundError when there is no such finding. */

const BOTH: readonly Outcome[] = ['accepted', 'rejected'];
/** A finding at reject level fails what it covers: that can be confirmed and not lifted. */
const outcomesOf = ({ level }: LogFinding): readonly Outcome[] => (level === 'reject' ? ['rejected'] : BOTH);

/** Why nobody decides a finding by itself. */
const REFUSED = { no: 'no decision lifts', concession: 'conceded with its clause' } as const;

/** Subjects of findings are named by the first digits of their identity, as pages and records print them. */
export const FINDING_DIGITS = 12;

export async function logFindingToSign(read: Reads, latest: LatestLot, { key, digest }: Thing): Promise<Signable> {
  const found = await read.logs.finding(digest ?? key);
  if (!found) throw new NotFoundError('log finding', digest ?? key);
  const { finding } = found;
  const facts = (await latest(found.lot))?.facts;
  const short = finding.id.slice(0, FINDING_DIGITS);
  const together =
    facts && logFindingsOf(facts).find((one) => isGroup(one) && one.members.some(({ id }) => id === finding.id));
  return {
    subject: findingSubject('log finding', short, finding.id),
    title: THINGS.logFinding(short, finding.build),
    lot: found.lot,
    shows: shownOf(facts, finding),
    touches: facts ? implantsActedOn(facts, finding) : [],
    outcomes: outcomesOf(finding),
    page: lotAddress(found.lot, 'build', findingAnchor(finding.id)),
    doers: {},
    ...(together
      ? {
          refused: {
            code: 'one of many' as const,
            facts: {
              count: together.members.length,
              group: thingText({
                kind: 'log finding group',
                key: `${found.lot}:${together.id.slice(0, FINDING_DIGITS)}`,
                revision: null,
                digest: null,
              }),
            },
          },
        }
      : refusedAlert(finding)),
  };
}

export async function logFindingsToSign(latest: LatestLot, { key, digest }: Thing): Promise<Signable> {
  const [lot = '', start = ''] = key.split(':');
  const facts = (await latest(lot))?.facts;
  const found = facts && theOne(logFindingsOf(facts).filter(isGroup), digest ?? start, ({ id }) => id);
  if (!found) throw new NotFoundError('log finding group', key);
  const short = found.id.slice(0, FINDING_DIGITS);
  return {
    subject: findingSubject('log finding group', `${lot}:${short}`, found.id),
    title: THINGS.logFindings(found.members.length, short, found.build),
    lot,
    shows: [[SHOWN.findings, SHOWN.together(found.members.length)], ...shownOf(facts, found)],
    touches: implantsActedOn(facts, found),
    outcomes: outcomesOf(found),
    page: `${lotAddress(lot)}/findings/${found.id}`,
    doers: {},
    ...refusedAlert(found),
  };
}

export async function checkFindingToSign(latest: LatestLot, { key, digest }: Thing): Promise<Signable> {
  const [lot = '', start = ''] = key.split(':');
  const assessed = await latest(lot);
  const one = assessed && findingOf(assessed.assessment, digest ?? start);
  if (!one) throw new NotFoundError('check finding', key);
  const { check, finding: found } = one;
  const { says, clearedBy } = findingWords(check, found);
  const short = found.id.slice(0, FINDING_DIGITS);
  return {
    subject: findingSubject('check finding', `${lot}:${short}`, found.id),
    title: THINGS.checkFinding(short, lot),
    lot,
    shows: [
      [SHOWN.what, says],
      [SHOWN.effect, effectText(found.effect)],
      [SHOWN.clearedBy, clearedBy],
      [SHOWN.implants, found.units.join(', ') || SHOWN.none],
    ],
    touches: found.units,
    outcomes: BOTH,
    page: lotAddress(lot, 'checks', checkAnchor(check)),
    doers: {},
    ...(found.mayBeDecided === 'decision'
      ? {}
      : { refused: { code: REFUSED[found.mayBeDecided], facts: { check, finding: found } } }),
  };
}

/** What is told as one of many is opened from all of them; an alert asks nothing of anybody. */
const OPENS_NOTHING: ReadonlySet<string> = new Set(['one of many', 'alert']);

/** The form that opens a nonconformity from what would be signed; null for what is no finding. */
export const nonconformityFrom = ({ lot, subject, refused }: Signable): string | null =>
  lot === null || !isFinding(subject) || (refused && OPENS_NOTHING.has(refused.code))
    ? null
    : nonconformityAddress(lot, [subject.digest]);

const refusedAlert = ({ level }: LogFinding): { refused?: Objection } =>
  level === 'alert' ? { refused: { code: 'alert' } } : {};

function shownOf(facts: Facts | undefined, finding: LogFinding): [string, string][] {
  const touched = facts ? coverageOf(facts, finding) : undefined;
  return [
    [SHOWN.level, finding.level],
    [SHOWN.what, findingText(finding)],
    [SHOWN.where, whereText(finding)],
    [SHOWN.from, timeText(finding.startedAt ?? '')],
    [SHOWN.to, timeText(finding.endedAt ?? '')],
    [SHOWN.implants, touched?.implants.join(', ') || SHOWN.none],
    [SHOWN.coupons, touched?.coupons.join(', ') || SHOWN.none],
  ];
}

/** A finding of a release check, with the code of the check. */
function findingOf(
  assessment: Assessment,
  start: string,
): { readonly check: string; readonly finding: CheckFinding } | undefined {
  const all = assessment.checks.flatMap(({ code, findings }) => findings.map((finding) => ({ check: code, finding })));
  return theOne(all, start, ({ finding }) => finding.id);
}

/** The one whose identity begins so. Too few digits, or digits that fit several, name none: nobody signs by chance. */
function theOne<T>(all: readonly T[], start: string, idOf: (one: T) => string): T | undefined {
  if (start.length < FINDING_DIGITS) return undefined;
  const [found, ...more] = all.filter((one) => idOf(one).startsWith(start));
  return more.length === 0 ? found : undefined;
}
