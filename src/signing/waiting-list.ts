import type { Assessment } from '../assessment/assessment.js';
import { localDay, stamp } from '../clock.js';
import {
  certificateSubject,
  findingSubject,
  lotFileSubject,
  qualificationSubject,
  receiptSubject,
  revisionSubject,
} from '../dossier/signable.js';
import type { Meaning, SignedSubject, Statement } from '../dossier/statement.js';
import type { Case } from '../kinds/case.js';
import { kindTitle } from '../kinds/catalogue.js';
import type { Approval } from '../kinds/fields.js';
import type { Lot } from '../kinds/lot.js';
import type { Person } from '../kinds/person.js';
import type { Receipt } from '../kinds/receipt.js';
import type { StoredRevision } from '../store/reads.js';
import type { Store } from '../store/store.js';
import type { Accounts } from './accounts.js';
import { type Act, actOf, authorityFor, type Candidate, type Doers, ONE_OF_EACH_ROLE } from './authority.js';
import { buildersOf, testersOf } from './lot-people.js';
import { candidatesOn } from './situation.js';
import { FINDING_DIGITS } from './subjects.js';
import { thingText } from './thing.js';
import { unitStates } from './unit-states.js';

/** One signature that somebody could give now. */
export interface Waiting {
  /** Name of the thing for the sign page and the command. */
  readonly thing: string;
  readonly meaning: Meaning;
  readonly act: string;
  readonly title: string;
  readonly lot: string | null;
  readonly neededBy: string | null;
  /** Serials, for releases. */
  readonly units: readonly string[];
  /** Findings that are alike are decided together. */
  readonly group: string | null;
  /** Codes of the people who may sign it now. */
  readonly who: readonly string[];
}

/** A signature that is missing, before it is known who could give it. */
interface Open {
  readonly subject: SignedSubject;
  readonly meaning: Meaning;
  readonly title: string;
  readonly lot?: string;
  readonly neededBy?: string | null;
  readonly units?: readonly string[];
  readonly group?: string;
  readonly doers?: Doers;
  /** For results: only these people measured them. */
  readonly only?: readonly string[];
}

const DOCUMENT_KINDS = actOf('approved', 'recipe')!.kinds;

/** What waits for a signature, and whose. */
export class WaitingList {
  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
  ) {}

  /** Everything that waits, needed soonest first; what nobody may sign is listed too, since that is a deadlock. */
  async all(): Promise<Waiting[]> {
    const open = [
      ...(await this.documents()),
      ...(await this.receipts()),
      ...(await this.qualifications()),
      ...(await this.lots()),
    ];
    const statements = await this.statementsOn(open.map(({ subject }) => subject.digest));
    const candidates = await this.candidates();
    return open
      .map((item) => asWaiting(item, statements.get(item.subject.digest) ?? [], candidates))
      .filter((item) => item !== undefined)
      .sort((a, b) => (a.neededBy ?? '9999').localeCompare(b.neededBy ?? '9999', 'en'));
  }

  private async statementsOn(digests: readonly string[]): Promise<Map<string, Statement[]>> {
    const found = new Map<string, Statement[]>();
    for (const { signed } of await this.store.read.signaturesOn(digests)) {
      const { digest } = signed.statement.subject;
      found.set(digest, [...(found.get(digest) ?? []), signed.statement]);
    }
    return found;
  }

  private async candidates(): Promise<Candidate[]> {
    const day = localDay(stamp(this.store.clock));
    return candidatesOn(this.store.read, await this.accounts.people(), day);
  }

  private async documents(): Promise<Open[]> {
    const found: Open[] = [];
    for (const kind of DOCUMENT_KINDS) {
      for (const revision of await this.store.read.list(kind)) {
        if ((revision.body as { approval?: Approval }).approval?.original !== undefined) continue;
        const title = `${kindTitle(kind)} ${revision.key} revision ${revision.revision}`;
        const subject = revisionSubject(revision);
        found.push({ subject, title, meaning: 'performed' }, { subject, title, meaning: 'approved' });
      }
    }
    return found;
  }

  private async receipts(): Promise<Open[]> {
    return (await this.store.read.list('receipt')).flatMap(({ key, body }): Open[] => {
      const receipt = body as Receipt;
      const certificate = certificateSubject(receipt);
      const doers = { transcriber: receipt.certificate ? [receipt.certificate.transcribedBy] : [] };
      const decided = receipt.status !== 'quarantine' && receipt.acceptance?.original === undefined;
      return [
        ...(certificate
          ? [{ subject: certificate, title: `certificate of receipt ${key}`, meaning: 'checked' as const, doers }]
          : []),
        ...(decided
          ? [
              {
                subject: receiptSubject(receipt),
                title: `receipt ${key}, ${receipt.status}`,
                meaning: 'approved' as const,
                doers,
              },
            ]
          : []),
      ];
    });
  }

  private async qualifications(): Promise<Open[]> {
    return (await this.store.read.list('person')).flatMap(({ key, body }) =>
      (body as Person).qualifications.map(
        (qualification): Open => ({
          subject: qualificationSubject(key, qualification),
          title: `${(body as Person).name}: ${qualification.operation}`,
          meaning: 'approved',
          doers: { self: [key] },
        }),
      ),
    );
  }

  private async lots(): Promise<Open[]> {
    const cases = new Map((await this.store.read.list('case')).map((item) => [item.key, item.body as Case]));
    const found: Open[] = [];
    const statements = await this.store.read.signaturesStarting('lot file', '');
    const events = await this.store.read.eventsOfTypes(['hold-placed', 'hold-lifted', 'release-revoked']);
    for (const revision of await this.store.read.list('lot')) {
      const serials = (revision.body as Lot).implants.map((implant) => implant.serial);
      const states = unitStates(
        serials,
        statements.filter(({ signed }) => signed.statement.subject.key === revision.key),
        events.filter(({ event }) => 'lot' in event && event.lot === revision.key),
      );
      const undecided = states.filter(({ decision }) => decision === 'open' || decision === 'revoked');
      // A lot of which everything is decided waits for nobody: most lots, after a few years.
      if (serials.length > 0 && undecided.length === 0) continue;
      found.push(
        ...(await this.lot(
          revision,
          cases,
          undecided.map(({ serial }) => serial),
        )),
      );
    }
    return found;
  }

  private async lot(
    { key, body }: StoredRevision,
    cases: ReadonlyMap<string, Case>,
    undecided: readonly string[],
  ): Promise<Open[]> {
    const lot = body as Lot;
    const neededBy = lot.implants.flatMap((implant) => cases.get(implant.case)?.neededBy ?? []).sort()[0] ?? null;
    const common = { lot: key, neededBy };
    const results = (await this.store.read.results(key)).rows;
    const stored = await this.store.read.latestAssessment(key);
    const assessment = stored ? (JSON.parse(stored.body) as Assessment) : undefined;
    const open: Open[] = [
      ...(await this.resultSets(key, results)).map((item) => ({ ...item, ...common })),
      ...(assessment?.checks ?? []).flatMap((check) =>
        check.findings.flatMap((finding): Open[] => {
          // A finding about something else may name a log finding beside it; that one is told by its own.
          const [found] = finding.subjects;
          if (found?.kind !== 'log finding') return [];
          const subject = findingSubject('log finding', found.key.slice(0, FINDING_DIGITS), found.key);
          const group = `${key} ${finding.rule} ${finding.facts.channel ?? ''} ${finding.facts.level ?? ''}`;
          return [{ ...common, subject, title: finding.says, meaning: 'decided', group }];
        }),
      ),
      ...(assessment?.checks ?? []).flatMap((check) =>
        check.findings
          .filter((finding) => finding.mayBeDecided === 'decision')
          .map((finding): Open => {
            const subject = findingSubject(
              'check finding',
              `${key}:${finding.id.slice(0, FINDING_DIGITS)}`,
              finding.id,
            );
            return {
              ...common,
              subject,
              title: finding.says,
              meaning: 'decided',
              group: `${key} ${check.code} ${finding.rule}`,
            };
          }),
      ),
    ];
    return [
      ...open,
      ...(stored && assessment ? await this.lotFile(lot, stored.dossierDigest, assessment, common, undecided) : []),
    ];
  }

  private async resultSets(lot: string, rows: Awaited<ReturnType<Store['read']['results']>>['rows']): Promise<Open[]> {
    const names = (values: readonly string[]) => [...new Set(values)].filter((value) => value !== '').sort();
    return (await this.store.read.revisionsStarting('result-set', `${lot}:`)).flatMap((set): Open[] => {
      const { file, evidence } = set.body as { file: string; evidence: string };
      const own = rows.filter((row) => row.evidence === evidence && row.status === 'current');
      const typists = names(own.map((row) => row.enteredBy));
      const subject = revisionSubject(set);
      return [
        ...names(own.map((row) => row.analyst)).map(
          (analyst): Open => ({
            subject,
            title: `results of ${analyst} in ${file}`,
            meaning: 'performed',
            only: [analyst],
          }),
        ),
        ...(typists.length > 0
          ? [
              {
                subject,
                title: `values typed by ${typists.join(', ')} in ${file}`,
                meaning: 'checked' as const,
                doers: { typist: typists },
              },
            ]
          : []),
      ];
    });
  }

  private async lotFile(
    lot: Lot,
    dossierSha256: string,
    assessment: Assessment,
    common: { lot: string; neededBy: string | null },
    undecided: readonly string[],
  ): Promise<Open[]> {
    const subject = lotFileSubject(lot.lot, dossierSha256);
    const signed = (await this.store.read.signaturesOn([dossierSha256])).map(({ signed: one }) => one.statement);
    const reviewers = signed.filter(({ meaning }) => meaning === 'reviewed').map(({ person }) => person.code);
    const results = (await this.store.read.results(lot.lot)).rows;
    const facts = { lot: { body: lot }, results };
    const doers: Doers = {
      maker: buildersOf(facts),
      tester: testersOf(facts),
      decider: await this.decidersOf(lot.lot, assessment),
      reviewer: reviewers,
    };
    if (reviewers.length === 0) return [{ ...common, subject, doers, title: `lot ${lot.lot}`, meaning: 'reviewed' }];
    const releasable = undecided.filter((serial) => assessment.releasable.includes(serial));
    const others = undecided.filter((serial) => !releasable.includes(serial));
    return [
      ...(releasable.length > 0
        ? [
            {
              ...common,
              subject,
              doers,
              title: `units ${releasable.join(', ')}`,
              meaning: 'released' as const,
              units: releasable,
            },
          ]
        : []),
      ...(others.length > 0
        ? [
            {
              ...common,
              subject,
              doers,
              title: `units ${others.join(', ')}, which may not be released`,
              meaning: 'rejected' as const,
              units: others,
            },
          ]
        : []),
    ];
  }

  private async decidersOf(lot: string, assessment: Assessment): Promise<string[]> {
    const findings = (await this.store.read.logs(lot)).flatMap((log) => log.part.findings.map((finding) => finding.id));
    const ids = [...findings, ...assessment.checks.flatMap((check) => check.findings.map((finding) => finding.id))];
    const found = [
      ...(await this.store.read.signaturesOn(ids)),
      ...(await this.store.read.signaturesStarting('check finding', `${lot}:`)),
    ];
    return found.map(({ signed }) => signed.statement.person.code);
  }
}

/** Undefined when it was signed already, or when something else has to be signed first. */
function asWaiting(open: Open, signed: readonly Statement[], candidates: readonly Candidate[]): Waiting | undefined {
  const { subject, meaning, only } = open;
  const act = actOf(meaning, subject.kind)!;
  const same = signed.filter((one) => one.meaning === meaning);
  const eachRole = act.act === ONE_OF_EACH_ROLE;
  if (only ? same.some(({ person }) => only.includes(person.code)) : isDone(act, same, eachRole)) return undefined;
  if (act.order.includes('authored') && !signed.some((one) => one.meaning === 'performed')) return undefined;
  const by = (what: Meaning) => signed.filter((one) => one.meaning === what).map(({ person }) => person.code);
  const doers = { ...open.doers, author: by('performed'), decided: by('decided') };
  const taken = eachRole ? same.map(({ person }) => person.role) : [];
  const may = candidates
    .filter(({ code }) => only === undefined || only.includes(code))
    .filter((candidate) => authorityFor(act, candidate, doers, taken).may);
  const who = (meaning === 'performed' ? withoutOnlyApprover(may, candidates, subject.kind) : may).map(
    ({ code }) => code,
  );
  return {
    thing: thingText(
      meaning === 'reviewed' || meaning === 'released' || meaning === 'rejected'
        ? { ...subject, digest: null }
        : subject,
    ),
    meaning,
    act: act.act,
    title: open.title,
    lot: open.lot ?? null,
    neededBy: open.neededBy ?? null,
    units: open.units ?? [],
    group: open.group ?? null,
    who,
  };
}

/** Whoever alone may approve a document is asked for its authorship only when nobody else could write it. */
function withoutOnlyApprover(authors: readonly Candidate[], all: readonly Candidate[], kind: string) {
  const approve = actOf('approved', kind);
  if (!approve) return authors;
  const approvers = all.filter((candidate) => authorityFor(approve, candidate, {}).may);
  const others = authors.filter(({ code }) => approvers.some((approver) => approver.code !== code));
  return others.length > 0 ? others : authors;
}

function isDone(act: Act, same: readonly Statement[], eachRole: boolean): boolean {
  if (act.meaning === 'released' || act.meaning === 'rejected') return false;
  if (!eachRole) return same.length > 0;
  const rejected = same.some(({ outcome }) => outcome === 'rejected');
  return rejected || act.roles.every((role) => same.some(({ person }) => person.role === role));
}
