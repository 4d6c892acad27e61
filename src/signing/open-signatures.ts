import type { Assessment } from '../assessment/assessment.js';
import { stepsAsked } from '../assessment/gates.js';
import { ACCEPTED_STEPS } from '../assessment/loads.js';
import { type PartsDocument, partsSaid } from '../assessment/parts-in-lot.js';
import { digestOf } from '../dossier/canonical.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import {
  certificateSubject,
  findingSubject,
  lotFileSubject,
  qualificationSubject,
  receiptSubject,
  revisionSubject,
} from '../dossier/signable.js';
import type { Meaning, SignedSubject } from '../dossier/statement.js';
import type { Case } from '../kinds/case.js';
import { commonFields } from '../kinds/common-fields.js';
import type { SignablePart } from '../kinds/kind.js';
import type { Lot } from '../kinds/lot.js';
import { fateOf } from '../kinds/lot-after-build.js';
import { closurePart, dispositionPart } from '../kinds/nonconformity.js';
import type { CurrentAssessment, CurrentAssessments } from '../lots/current-assessments.js';
import { decisionsOnAllLots } from '../lots/unit-decisions.js';
import { type UnitState, unitStates } from '../lots/unit-states.js';
import { actOf, type Doers } from '../people/authority.js';
import { findingWords } from '../report/assessment-words.js';
import { THINGS } from '../report/phrases/things.js';
import type { StoredRevision } from '../store/entries.js';
import type { Store } from '../store/store.js';
import { FINDING_DIGITS } from './finding-subjects.js';
import { doersOfLot, findingIdsOf } from './situation.js';
import { unitObjection } from './unit-objection.js';

/** A signature that is missing, before it is known who could give it. */
export interface Open {
  readonly subject: SignedSubject;
  readonly meaning: Meaning;
  readonly title: string;
  readonly lot?: string;
  readonly neededBy?: string | null;
  readonly units?: readonly string[];
  /** Of a release. */
  readonly step?: ReleaseStep;
  readonly group?: string;
  readonly doers?: Doers;
  /** For results: only these people measured them. */
  readonly only?: readonly string[];
}

const DOCUMENT_KINDS = actOf('performed', 'recipe')!.kinds;

/** Everything that somebody has to sign sooner or later, whether or not it was signed already. */
export class OpenSignatures {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  async all(): Promise<Open[]> {
    return [
      ...(await this.documents()),
      ...(await this.receipts()),
      ...(await this.acceptances()),
      ...(await this.loads()),
      ...(await this.qualifications()),
      ...(await this.nonconformities()),
      ...(await this.impacts()),
      ...(await this.recalls()),
      ...(await this.lots()),
    ];
  }

  private async documents(): Promise<Open[]> {
    const found: Open[] = [];
    for (const kind of DOCUMENT_KINDS) {
      for (const revision of await this.store.read.entries.list(kind)) {
        if (commonFields(revision.body).approval?.original !== undefined) continue;
        const title = THINGS.document(revision);
        const subject = revisionSubject(revision);
        found.push({ subject, title, meaning: 'performed' }, { subject, title, meaning: 'approved' });
      }
    }
    return found;
  }

  private async receipts(): Promise<Open[]> {
    return (await this.store.read.entries.list('receipt')).flatMap(({ key, body: receipt }): Open[] => {
      const certificate = certificateSubject(receipt);
      const doers = { transcriber: receipt.certificate ? [receipt.certificate.transcribedBy] : [] };
      const decided = receipt.status !== 'quarantine' && receipt.acceptance?.original === undefined;
      return [
        ...(certificate
          ? [{ subject: certificate, title: THINGS.certificateOf(key), meaning: 'checked' as const, doers }]
          : []),
        ...(decided
          ? [
              {
                subject: receiptSubject(receipt),
                title: THINGS.receiptDecided(key, receipt.status),
                meaning: 'approved' as const,
                doers,
              },
            ]
          : []),
      ];
    });
  }

  private async acceptances(): Promise<Open[]> {
    return (await this.store.read.entries.list('design-acceptance')).map((revision): Open => {
      const doers = { enterer: [revision.body.enteredBy] };
      return { subject: revisionSubject(revision), title: THINGS.document(revision), meaning: 'checked', doers };
    });
  }

  private async loads(): Promise<Open[]> {
    return (await this.store.read.entries.list('process-load'))
      .filter(({ body }) => ACCEPTED_STEPS.has(body.step))
      .map((revision): Open => {
        const doers = { runner: [revision.body.by] };
        return { subject: revisionSubject(revision), title: THINGS.document(revision), meaning: 'approved', doers };
      });
  }

  private async qualifications(): Promise<Open[]> {
    return (await this.store.read.entries.list('person')).flatMap(({ key, body }) =>
      body.qualifications.map(
        (qualification): Open => ({
          subject: qualificationSubject(key, qualification),
          title: THINGS.training(body.name, qualification.operation),
          meaning: 'approved',
          doers: { self: [key] },
        }),
      ),
    );
  }

  private async nonconformities(): Promise<Open[]> {
    return (await this.store.read.entries.list('nonconformity')).flatMap(({ key, body }): Open[] => {
      const [disposition, closure] = [dispositionPart(body, digestOf), closurePart(body, digestOf)];
      const open = (part: SignablePart, title: string, meaning: Meaning): Open => ({
        subject: { ...part, revision: null },
        title,
        meaning,
      });
      return [
        ...(disposition ? [open(disposition, THINGS.disposition(key), 'decided')] : []),
        ...(closure ? [open(closure, THINGS.closure(key), 'approved')] : []),
      ];
    });
  }

  private async impacts(): Promise<Open[]> {
    return (await this.store.read.entries.list('impact')).map(
      (revision): Open => ({
        subject: revisionSubject(revision),
        title: THINGS.document(revision),
        meaning: 'decided',
      }),
    );
  }

  private async recalls(): Promise<Open[]> {
    const closed = (await this.store.read.entries.list('recall')).filter(({ body }) => body.closed !== undefined);
    return closed.map(
      (revision): Open => ({
        subject: revisionSubject(revision),
        title: THINGS.document(revision),
        meaning: 'approved',
      }),
    );
  }

  private async lots(): Promise<Open[]> {
    const cases = new Map((await this.store.read.entries.list('case')).map((item) => [item.key, item.body]));
    const found: Open[] = [];
    const decisions = await decisionsOnAllLots(this.store.read);
    for (const revision of await this.store.read.entries.list('lot')) {
      const serials = revision.body.implants.map((implant) => implant.serial);
      const { statements, events } = decisions(revision.key);
      const states = unitStates(serials, statements, events);
      const undecided = states.filter(
        ({ serial, decision, releasedFor }) =>
          decision !== 'rejected' &&
          !releasedFor.includes('distribution') &&
          fateOf(revision.body, serial) === undefined,
      );
      // A lot of which everything is decided waits for nobody: most lots, after a few years. Nor does one that waits for its load.
      if (serials.length > 0 && undecided.every((unit) => isAwaitingLoad(revision.body, unit))) continue;
      found.push(...(await this.lot(revision, cases, undecided)));
    }
    return found;
  }

  private async lot(
    { key, body: lot }: StoredRevision<'lot'>,
    cases: ReadonlyMap<string, Case>,
    undecided: readonly UnitState[],
  ): Promise<Open[]> {
    const neededBy = lot.implants.flatMap((implant) => cases.get(implant.case)?.neededBy ?? []).sort()[0] ?? null;
    const common = { lot: key, neededBy };
    const results = (await this.store.read.results.ofLot(key)).rows;
    const current = await this.current.assessmentOf(key);
    const assessment = current?.assessment;
    const open: Open[] = [
      ...(await this.resultSets(key, results)).map((item) => ({ ...item, ...common })),
      ...statementsOf(assessment).map((item) => ({ ...item, ...common })),
      ...(assessment?.checks ?? []).flatMap((check) =>
        check.findings.flatMap((finding): Open[] => {
          // A finding about something else may name a log finding beside it; that one is told by its own.
          const [found] = finding.subjects;
          if (found?.kind !== 'log finding' && found?.kind !== 'log finding group') return [];
          const short = found.key.slice(0, FINDING_DIGITS);
          const subject =
            found.kind === 'log finding'
              ? findingSubject('log finding', short, found.key)
              : findingSubject('log finding group', `${key}:${short}`, found.key);
          const group = `${key} ${finding.rule} ${finding.facts.channel ?? ''} ${finding.facts.level ?? ''}`;
          return [{ ...common, subject, title: findingWords(check.code, finding).says, meaning: 'decided', group }];
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
              title: findingWords(check.code, finding).says,
              meaning: 'decided',
              group: `${key} ${check.code} ${finding.rule}`,
            };
          }),
      ),
    ];
    return [...open, ...(current ? await this.lotFile(lot, current, common, undecided) : [])];
  }

  private async resultSets(
    lot: string,
    rows: Awaited<ReturnType<Store['read']['results']['ofLot']>>['rows'],
  ): Promise<Open[]> {
    const names = (values: readonly string[]) => [...new Set(values)].filter((value) => value !== '').sort();
    return (await this.store.read.entries.revisionsStarting('result-set', `${lot}:`)).flatMap((set): Open[] => {
      const { file, evidence } = set.body;
      const own = rows.filter((row) => row.evidence === evidence && row.status === 'current');
      const typists = names(own.map((row) => row.enteredBy));
      const subject = revisionSubject(set);
      return [
        ...names(own.map((row) => row.analyst)).map(
          (analyst): Open => ({
            subject,
            title: THINGS.measured(analyst, file),
            meaning: 'performed',
            only: [analyst],
          }),
        ),
        ...(typists.length > 0
          ? [
              {
                subject,
                title: THINGS.typed(typists, file),
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
    { dossierSha256, assessment }: CurrentAssessment,
    common: { lot: string; neededBy: string | null },
    undecided: readonly UnitState[],
  ): Promise<Open[]> {
    const subject = lotFileSubject(lot.lot, dossierSha256);
    const read = this.store.read;
    const reviewed = (await read.signatures.on([dossierSha256])).some(
      ({ signed }) => signed.statement.meaning === 'reviewed',
    );
    const logParts = (await read.logs.ofLot(lot.lot)).map((log) => log.part);
    const parts = partsSaid(
      [{ kind: 'lot', key: lot.lot, body: lot }, ...(await this.loadsOf(lot))],
      (await read.results.ofLot(lot.lot)).rows,
    );
    const doers = await doersOfLot(read, lot.lot, parts, findingIdsOf(logParts, assessment));
    if (!reviewed) return [{ ...common, subject, doers, title: THINGS.lot(lot.lot), meaning: 'reviewed' }];
    const isFree = (serial: string, step: ReleaseStep) =>
      unitObjection({ lot, assessment, states: undecided, meaning: 'released', step, units: [serial] }) === undefined;
    const steps = stepsAsked(assessment.units.flatMap(({ gates }) => gates));
    const releases = steps.flatMap((step): Open[] => {
      const units = undecided.map(({ serial }) => serial).filter((serial) => isFree(serial, step));
      if (units.length === 0) return [];
      return [{ ...common, subject, doers, title: THINGS.units(units), meaning: 'released', step, units }];
    });
    const isHeld = ({ serial, releasedFor }: UnitState) =>
      !steps.some((step) => isFree(serial, step)) && (releasedFor.length === 0 ? !isClear(serial) : isBad(serial));
    const isClear = (serial: string) => assessment.releasable.includes(serial);
    // One that was released may wait for results that are due later, and is told only when something is known against it.
    const isBad = (serial: string) =>
      assessment.units.some(
        (unit) =>
          unit.serial === serial && unit.why.some(({ conceded, before }) => !conceded && before === 'sterilisation'),
      );
    const others = undecided.filter(isHeld).map(({ serial }) => serial);
    return [
      ...releases,
      ...(others.length > 0
        ? [
            {
              ...common,
              subject,
              doers,
              title: THINGS.unitsHeldBack(others),
              meaning: 'rejected' as const,
              units: others,
            },
          ]
        : []),
    ];
  }

  /** Loads in which parts of a lot were: whoever ran one did a step of its making. */
  private async loadsOf({ steps }: Lot): Promise<PartsDocument[]> {
    const codes = [...new Set(steps.flatMap(({ load }) => load ?? []))];
    const found = await Promise.all(codes.map((code) => this.store.read.entries.current('process-load', code)));
    return found.flatMap((load) => load ?? []);
  }
}

/** Released for sterilisation, and no sterile load is on record yet. */
const isAwaitingLoad = ({ steps }: Lot, { serial, releasedFor }: UnitState): boolean =>
  releasedFor.length > 0 &&
  !steps.some(({ step, parts }) => step === 'sterilise' && (parts === undefined || parts.includes(serial)));

/** Statements of custom-made devices that nobody has signed as they read now. */
function statementsOf(assessment: Assessment | undefined): Open[] {
  const check = assessment?.checks.find(({ code }) => code === 'statement-signed');
  return (check?.findings ?? []).flatMap(({ rule, facts, subjects: [on] }): Open[] => {
    const { statement: digest, unit } = facts;
    if (rule !== 'not signed' || on === undefined || digest === undefined || unit === undefined) return [];
    const [lot = ''] = on.key.split(':');
    return [{ subject: { ...on, revision: null, digest }, title: THINGS.statement(unit, lot), meaning: 'approved' }];
  });
}
