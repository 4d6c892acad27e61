import { Injectable } from '@nestjs/common';
import { isGroup } from '../assessment/alike-findings.js';
import type { Assessment, CheckFinding } from '../assessment/assessment.js';
import { coverageOf } from '../assessment/coverage.js';
import { logFindingsOf } from '../assessment/log-findings.js';
import { AppError, NotFoundError } from '../base/errors.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import {
  certificateSubject,
  findingSubject,
  lotFileSubject,
  qualificationSubject,
  receiptSubject,
  revisionSubject,
} from '../dossier/signable.js';
import type { SignedSubject, Statement } from '../dossier/statement.js';
import { timeText } from '../dossier/time-text.js';
import { kindTitle } from '../kinds/catalogue.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { type AssessedLot, LotAssessor } from '../lots/lot-assessor.js';
import type { Doers } from '../people/authority.js';
import { findingWords } from '../report/assessment-words.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { findingText, whereText } from '../report/phrases/log-finding.js';
import type { Objection } from '../report/phrases/objections.js';
import { FACTS_SINCE, SHOWN, THINGS } from '../report/phrases/things.js';
import { isStillAs } from '../store/assemble-dossier.js';
import type { StoredRevision } from '../store/entries.js';
import { Store } from '../store/store.js';
import type { Thing } from './thing.js';

/** One thing that can be signed, as it stands now, with what a person needs to see before signing. */
export interface Signable {
  readonly subject: SignedSubject;
  readonly title: string;
  /** The lot whose file the signature belongs to, where there is one. */
  readonly lot: string | null;
  /** What is signed, in words: name and value. */
  readonly shows: readonly (readonly [string, string])[];
  /** Address of the page where the evidence is. */
  readonly page: string;
  /** Who did what to it, as far as the thing itself says. */
  readonly doers: Doers;
  /** Analysts named in a result sheet. */
  readonly analysts?: readonly string[];
  /** Decisions that exist for a finding; absent for everything else. */
  readonly outcomes?: readonly Outcome[];
  /** Set when nobody can sign it as it is, with the reason. */
  readonly refused?: Objection;
  /** The frozen lot behind a lot file. */
  readonly assessed?: AssessedLot;
  /** Of a lot file that is only looked at: why it has to be frozen and assessed again before anybody signs it. */
  readonly outOfDate?: string;
}

export type Outcome = NonNullable<Statement['outcome']>;
const BOTH: readonly Outcome[] = ['accepted', 'rejected'];
/** A finding at reject level fails what it covers: that can be confirmed and not lifted. */
const outcomesOf = ({ level }: LogFinding): readonly Outcome[] => (level === 'reject' ? ['rejected'] : BOTH);

type LatestLot = (lot: string) => Promise<AssessedLot | undefined>;

/** How the lots behind things are read: for signing, which freezes and assesses what it signs, or for looking. */
interface LotsRead {
  readonly latest: LatestLot;
  readonly file: (lot: string) => Promise<Pick<Signable, 'outOfDate'> & { readonly assessed: AssessedLot }>;
}

const MOST_SHOWN = 12;
/** Subjects of findings are named by the first digits of their identity, as pages and records print them. */
export const FINDING_DIGITS = 12;

/** Reads what stands behind the name of a thing. */
@Injectable()
export class Subjects {
  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
    private readonly assessments: CurrentAssessments,
  ) {}

  /**
   * Things as they are signed: a lot file is frozen and assessed as the lot stands. Each lot behind them is read once,
   * however many findings of it there are.
   * @throws NotFoundError when there is no such thing; AppError CONFLICT when it is no longer what the name says.
   */
  readAll(things: readonly Thing[], actor: string): Promise<Signable[]> {
    const file = async (lot: string) => ({ assessed: await this.assessor.assess(lot, actor) });
    return this.readEach(things, { latest: once((lot) => this.upToDate(lot, actor)), file });
  }

  /**
   * The same for whoever looks: a lot file is the one that was stored last, and nothing is stored.
   * @throws as `readAll`; NotFoundError for a lot file that was never assessed.
   */
  lookAtAll(things: readonly Thing[]): Promise<Signable[]> {
    return this.readEach(things, this.looking());
  }

  /**
   * Whether things are still what was read of them. It only reads, so that it may be asked inside a change, where nobody
   * else writes.
   * @throws as `readAll`.
   */
  async areStill(things: readonly Thing[], signables: readonly Signable[]): Promise<boolean> {
    const lots = this.looking();
    for (const [index, thing] of things.entries()) {
      const { assessed, ...known } = signables[index]!;
      const isSame = assessed
        ? await this.isStill(assessed)
        : JSON.stringify(await this.readOne(thing, lots)) === JSON.stringify(known);
      if (!isSame) return false;
    }
    return true;
  }

  private looking(): LotsRead {
    return { latest: once((lot) => this.assessments.of(lot)), file: (lot) => this.storedFile(lot) };
  }

  private async storedFile(lot: string): ReturnType<LotsRead['file']> {
    const assessed = await this.assessments.of(lot);
    if (!assessed) throw new NotFoundError('assessment of lot', lot);
    if (assessed.ofEarlierVersion) return { assessed, outOfDate: EARLIER_VERSION };
    return (await this.isStill(assessed)) ? { assessed } : { assessed, outOfDate: FACTS_SINCE };
  }

  private isStill({ dossierSha256, dossierText }: AssessedLot): Promise<boolean> {
    return isStillAs(this.store.read, { digest: dossierSha256, body: dossierText });
  }

  /** Nobody signs on what an earlier version said: these rules assess the lot file first where they have not. */
  private async upToDate(lot: string, actor: string): Promise<AssessedLot | undefined> {
    const current = await this.assessments.of(lot);
    if (current && !current.ofEarlierVersion) return current;
    await this.assessor.assessAgain(lot, actor);
    return this.assessments.of(lot);
  }

  private async readEach(things: readonly Thing[], lots: LotsRead): Promise<Signable[]> {
    const found: Signable[] = [];
    for (const thing of things) found.push(await this.readOne(thing, lots));
    return found;
  }

  private async readOne(thing: Thing, lots: LotsRead): Promise<Signable> {
    const signable = await this.current(thing, lots);
    if (thing.digest !== null && thing.digest !== signable.subject.digest) {
      throw new AppError('CONFLICT', `${signable.title} has changed since you looked at it; look again before signing`);
    }
    return signable;
  }

  private async current(thing: Thing, { latest, file }: LotsRead): Promise<Signable> {
    switch (thing.kind) {
      case 'certificate':
      case 'receipt':
        return this.receipt(thing);
      case 'qualification':
        return this.qualification(thing);
      case 'result-set':
        return this.resultSet(thing);
      case 'log finding':
        return this.logFinding(thing, latest);
      case 'log finding group':
        return this.logFindingGroup(thing, latest);
      case 'check finding':
        return this.checkFinding(thing, latest);
      case 'lot file':
        return this.lotFile(thing, file);
      default:
        return this.document(thing);
    }
  }

  private async document({ kind, key, revision }: Thing): Promise<Signable> {
    const found = await this.revisionOf(kind, key, revision);
    return {
      subject: revisionSubject(found),
      title: THINGS.document(found),
      lot: null,
      shows: [[SHOWN.name, found.name], [SHOWN.takenIn, timeText(found.recordedAt)], ...topFields(found.body)],
      page: traceOf(key),
      doers: {},
    };
  }

  private async receipt({ kind, key }: Thing): Promise<Signable> {
    const found = await this.revisionOf('receipt', key, null);
    const { body } = found;
    const subject = kind === 'receipt' ? receiptSubject(body) : certificateSubject(body);
    if (!subject) throw new NotFoundError('certificate of receipt', key);
    const lines = body.certificate?.lines ?? [];
    return {
      subject,
      title: kind === 'receipt' ? THINGS.receipt(key) : THINGS.certificate(body.certificate!.number, key),
      lot: null,
      shows: [
        [SHOWN.material, SHOWN.supplied(body)],
        [SHOWN.status, body.status],
        ...lines.map((line): [string, string] => [line.property, `${line.value} ${line.ucum}`]),
        [SHOWN.transcribedBy, body.certificate?.transcribedBy ?? SHOWN.noCertificate],
      ],
      page: traceOf(key),
      doers: { transcriber: body.certificate ? [body.certificate.transcribedBy] : [] },
      ...(kind === 'receipt' && body.status === 'quarantine'
        ? { refused: { code: 'in quarantine' as const, facts: { receipt: key } } }
        : {}),
    };
  }

  private async qualification({ key, digest }: Thing): Promise<Signable> {
    const [code = '', ...rest] = key.split(':');
    const operation = rest.join(':');
    const found = await this.revisionOf('person', code, null);
    const { name, qualifications } = found.body;
    const own = qualifications
      .filter((item) => item.operation === operation)
      .map((item) => ({ item, subject: qualificationSubject(code, item) }));
    const chosen = own.find(({ subject }) => subject.digest === digest) ?? own.at(-1);
    if (!chosen) throw new NotFoundError('qualification', key);
    const { from, to, evidence } = chosen.item;
    return {
      subject: chosen.subject,
      title: THINGS.qualification(name, code, operation),
      lot: null,
      shows: [
        [SHOWN.operation, operation],
        [SHOWN.from, from],
        [SHOWN.to, to ?? SHOWN.noEnd],
        [SHOWN.evidence, evidence ?? SHOWN.noEvidence],
      ],
      page: traceOf(code),
      doers: { self: [code] },
    };
  }

  private async resultSet({ key, revision, digest }: Thing): Promise<Signable> {
    const all = await this.store.read.entries.revisions('result-set', key);
    const found =
      all.find((item) => (digest === null ? item.revision === revision : item.digest === digest)) ?? all.at(-1);
    if (!found) throw new NotFoundError('result set', key);
    const { lot, file, evidence } = found.body;
    const rows = (await this.store.read.results.ofLot(lot)).rows.filter((row) => row.evidence === evidence);
    const names = (values: readonly string[]) => [...new Set(values)].filter((value) => value !== '').sort();
    return {
      subject: revisionSubject(found),
      title: THINGS.resultSheet(lot, file),
      lot,
      shows: [
        [SHOWN.values, String(rows.length)],
        [SHOWN.analysts, names(rows.map((row) => row.analyst)).join(', ')],
        [SHOWN.typedBy, names(rows.map((row) => row.enteredBy)).join(', ') || SHOWN.nobodyTyped],
        [SHOWN.instruments, names(rows.map((row) => row.instrument)).join(', ')],
        ...rows
          .slice(0, MOST_SHOWN)
          .map((row): [string, string] => [
            `${row.specimen} ${row.characteristic} ${row.replicate}`,
            `${row.reportedValue} ${row.reportedUcum}`,
          ]),
        ...(rows.length > MOST_SHOWN ? [[SHOWN.and, SHOWN.more(rows.length - MOST_SHOWN)] as const] : []),
      ],
      page: lotPage(lot, 'results'),
      doers: { typist: names(rows.map((row) => row.enteredBy)) },
      analysts: names(rows.map((row) => row.analyst)),
    };
  }

  private async logFinding({ key, digest }: Thing, latest: LatestLot): Promise<Signable> {
    const found = await this.store.read.logs.finding(digest ?? key);
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
      outcomes: outcomesOf(finding),
      page: lotPage(found.lot, `finding-${short}`),
      doers: {},
      ...(together
        ? {
            refused: {
              code: 'one of many' as const,
              facts: {
                count: together.members.length,
                group: `log finding group:${found.lot}:${together.id.slice(0, FINDING_DIGITS)}`,
              },
            },
          }
        : refusedAlert(finding)),
    };
  }

  private async logFindingGroup({ key, digest }: Thing, latest: LatestLot): Promise<Signable> {
    const [lot = '', start = ''] = key.split(':');
    const facts = (await latest(lot))?.facts;
    const found = facts && logFindingsOf(facts).find((one) => isGroup(one) && one.id.startsWith(digest ?? start));
    if (!found) throw new NotFoundError('log finding group', key);
    const short = found.id.slice(0, FINDING_DIGITS);
    return {
      subject: findingSubject('log finding group', `${lot}:${short}`, found.id),
      title: THINGS.logFindings(found.members.length, short, found.build),
      lot,
      shows: [[SHOWN.findings, SHOWN.together(found.members.length)], ...shownOf(facts, found)],
      outcomes: outcomesOf(found),
      page: `${lotPage(lot, '')}/findings/${found.id}`,
      doers: {},
      ...refusedAlert(found),
    };
  }

  private async checkFinding({ key, digest }: Thing, latest: LatestLot): Promise<Signable> {
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
        [SHOWN.effect, found.effect],
        [SHOWN.clearedBy, clearedBy],
        [SHOWN.implants, found.units.join(', ') || SHOWN.none],
      ],
      outcomes: BOTH,
      page: lotPage(lot, 'checks'),
      doers: {},
      ...(found.mayBeDecided === 'no'
        ? { refused: { code: 'no decision lifts' as const, facts: { check, finding: found } } }
        : {}),
    };
  }

  private async lotFile({ key }: Thing, file: LotsRead['file']): Promise<Signable> {
    const read = await file(key);
    const { assessment, dossierSha256 } = read.assessed;
    return {
      subject: lotFileSubject(key, dossierSha256),
      title: THINGS.lotFile(key),
      lot: key,
      shows: assessment.units.map((unit) => [unit.serial, SHOWN.unit(unit)]),
      page: lotPage(key, ''),
      doers: {},
      ...read,
    };
  }

  private async revisionOf<K extends string>(
    kind: K,
    key: string,
    revision: number | null,
  ): Promise<StoredRevision<K>> {
    const found =
      revision === null
        ? await this.store.read.entries.current(kind, key)
        : await this.store.read.entries.revision(kind, key, revision);
    if (!found) throw new NotFoundError(kindTitle(kind), revision === null ? key : `${key} revision ${revision}`);
    return found;
  }
}

/** Asks once for each lot. */
function once(latest: LatestLot): LatestLot {
  const lots = new Map<string, ReturnType<LatestLot>>();
  return (lot) => {
    const known = lots.get(lot) ?? latest(lot);
    lots.set(lot, known);
    return known;
  };
}

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
export function findingOf(
  assessment: Assessment,
  start: string,
): { readonly check: string; readonly finding: CheckFinding } | undefined {
  return assessment.checks
    .flatMap(({ code, findings }) => findings.map((finding) => ({ check: code, finding })))
    .find(({ finding }) => finding.id.startsWith(start));
}

/** Fields of a document that say something by themselves; the rest is on its page. */
function topFields(body: unknown): [string, string][] {
  const plain = (value: unknown): value is string | number => typeof value === 'string' || typeof value === 'number';
  return Object.entries(body ?? {})
    .filter(([name, value]) => plain(value) && !['kind', 'format', 'revision'].includes(name))
    .slice(0, MOST_SHOWN)
    .map(([name, value]) => [name, String(value)]);
}

const traceOf = (key: string): string => `/trace?id=${encodeURIComponent(key)}`;
const lotPage = (lot: string, anchor: string): string =>
  `/lots/${encodeURIComponent(lot)}${anchor === '' ? '' : `#${anchor}`}`;
