import { Injectable } from '@nestjs/common';
import type { Effect, Verdict } from '../assessment/assessment.js';
import type { Case } from '../kinds/case.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { RecordedEvent } from '../ledger/event.js';
import { reasonWords } from '../report/assessment-words.js';
import { changedVerdictText } from '../report/phrases/earlier-version.js';
import { lotStateText, proposedText } from '../report/phrases/lot-state.js';
import { isStillAs } from '../store/assemble-dossier.js';
import type { StoredRevision } from '../store/entries.js';
import { SharedFacts } from '../store/shared-facts.js';
import type { RecordedSignature } from '../store/signatures.js';
import { Store } from '../store/store.js';
import { type AssessedUnits, CurrentAssessments, isOfEarlierVersion } from './current-assessments.js';
import { type LotStage, stageOf } from './lot-stage.js';
import { decisionsOnAllLots } from './unit-decisions.js';
import { type UnitState, unitStates } from './unit-states.js';
import { unseenChanges, type VerdictChange } from './verdict-changes.js';

export interface Blocker {
  readonly effect: Effect;
  readonly says: string;
  readonly clearedBy: string;
  /** Code of the check that says so, or `acceptance`. */
  readonly check: string;
  readonly units: readonly string[];
}

/** One lot as lists show it: who needs it when, what each implant is proposed to be, and what stands in the way. */
export interface LotLine {
  readonly lot: string;
  readonly family: string;
  readonly cases: readonly string[];
  /** The earliest day on which one of its implants is needed. */
  readonly neededBy: string | null;
  /** In words, derived from the units. */
  readonly state: string;
  /** How far it has come: the last stage that is behind it. */
  readonly stage: LotStage;
  readonly units: LotUnit[];
  readonly blockers: readonly Blocker[];
  readonly record: {
    readonly number: string;
    readonly revision: number;
    readonly draft: boolean;
    readonly final: boolean;
  } | null;
  readonly assessed: boolean;
  /** What it shows was assessed by an earlier version of the program: it waits to be assessed again by this one. */
  readonly ofEarlierVersion: boolean;
  /** Verdicts that this version of the program changed, and at which no quality engineer has looked. */
  readonly changedVerdicts: readonly ToldChange[];
  /** Every implant is released as far as this version can record, or rejected, used up or kept back. */
  readonly closed: boolean;
  /** Facts came or changed since the assessment that this line shows. */
  readonly outOfDate: boolean;
}

export interface ToldChange extends Omit<VerdictChange, 'seen'> {
  readonly says: string;
}

export interface LotUnit {
  readonly serial: string;
  readonly case: string;
  readonly verdict: Verdict | 'not assessed';
  readonly decision: UnitState['decision'];
  readonly releasedFor: UnitState['releasedFor'];
  /** Reason of the hold that lies on it. */
  readonly hold: string | null;
}

/** What else is known of a lot when its line is written. */
interface Known {
  readonly assessed: AssessedUnits | undefined;
  readonly record: { readonly number: string; readonly revision: number; readonly enclosure: string } | undefined;
  readonly statements: readonly RecordedSignature[];
  readonly events: readonly RecordedEvent[];
  readonly shared: SharedFacts;
  /** Serials that left the cell. */
  readonly sent: ReadonlySet<string>;
}

/** Lists lots by their current assessments, without assessing any again. */
@Injectable()
export class LotOverview {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  /** First those that are not decided, needed soonest first; then the others, the latest first. */
  async list(): Promise<LotLine[]> {
    const { read } = this.store;
    const lots = await read.entries.list('lot');
    const cases = new Map((await read.entries.list('case')).map((item) => [item.key, item.body]));
    // Each question once for all lots: after years there are thousands, and one of each for every lot takes seconds.
    const assessed = await this.current.units();
    const records = new Map((await read.records.all()).map((record) => [record.lot, record]));
    const decisions = await decisionsOnAllLots(read);
    const shared = new SharedFacts(read);
    const sent = new Set((await read.entries.list('handover')).flatMap(({ body }) => body.implants));
    const lines: LotLine[] = [];
    for (const lot of lots) {
      const { statements, events } = decisions(lot.key);
      const known = {
        assessed: assessed.get(lot.key),
        record: records.get(lot.key),
        statements,
        events,
        shared,
        sent,
      };
      lines.push(await this.line(lot, cases, known));
    }
    const open = lines.filter((line) => !line.closed);
    const closed = lines.filter((line) => line.closed);
    return [...open.sort(bySoonest), ...closed.sort(bySoonest).reverse()];
  }

  /** The line of one lot. */
  async of(lot: string): Promise<LotLine> {
    const { read } = this.store;
    const revision = await read.entries.currentOrThrow('lot', lot);
    const codes = new Set(revision.body.implants.map((implant) => implant.case));
    const cases = new Map<string, Case>();
    for (const code of codes) {
      const found = await read.entries.current('case', code);
      if (found) cases.set(code, found.body);
    }
    return this.line(revision, cases, {
      assessed: (await this.current.units(lot)).get(lot),
      record: (await read.records.ofLot(lot)).at(-1),
      statements: await read.signatures.of({ kind: 'lot file', key: lot }),
      events: await read.events.of({ kind: 'lot', key: lot }),
      shared: new SharedFacts(read),
      sent: await this.sentOf(revision.body.implants.map(({ serial }) => serial)),
    });
  }

  private async sentOf(serials: readonly string[]): Promise<ReadonlySet<string>> {
    const sent = new Set<string>();
    for (const serial of serials) {
      if (await this.store.read.entries.isTiedTo('implant', serial, 'hands over')) sent.add(serial);
    }
    return sent;
  }

  private async line(
    revision: StoredRevision<'lot'>,
    cases: ReadonlyMap<string, Case>,
    { assessed, record, statements, events, shared, sent }: Known,
  ): Promise<LotLine> {
    const lot = revision.body;
    const serials = lot.implants.map((implant) => implant.serial);
    const states = unitStates(serials, statements, events);
    const closed =
      states.length > 0 &&
      states.every(
        ({ serial, decision, releasedFor }) =>
          decision === 'rejected' || releasedFor.includes('distribution') || fateOf(lot, serial) !== undefined,
      );
    const units = lot.implants.map(
      (implant, index): LotUnit => ({
        serial: implant.serial,
        case: implant.case,
        verdict: assessed?.units.find((unit) => unit.serial === implant.serial)?.verdict ?? 'not assessed',
        decision: states[index]!.decision,
        releasedFor: states[index]!.releasedFor,
        hold: states[index]!.hold?.reason ?? null,
      }),
    );
    const days = lot.implants.flatMap((implant) => cases.get(implant.case)?.neededBy ?? []);
    return {
      lot: lot.lot,
      family: lot.family,
      cases: [...new Set(lot.implants.map((implant) => implant.case))],
      neededBy: days.sort()[0] ?? null,
      state: states.some(({ decision, hold }) => decision !== 'open' || hold !== null)
        ? lotStateText(states)
        : proposedText(units.map((unit) => unit.verdict)),
      stage: stageOf({ lot, assessed, statements, states, closed, sent }),
      units,
      blockers: closed ? [] : blockersOf(assessed),
      record: record ? { number: record.number, revision: record.revision, ...recordGoes(record.enclosure) } : null,
      assessed: assessed !== undefined,
      ofEarlierVersion: assessed !== undefined && isOfEarlierVersion(assessed),
      changedVerdicts: unseenChanges(events).map(({ seen: _, ...change }) => ({
        ...change,
        says: changedVerdictText(change),
      })),
      closed,
      outOfDate: assessed !== undefined && !closed && (await this.isOutOfDate(assessed.dossierDigest, shared)),
    };
  }

  /** The lot as it stands gives another digest than the lot file that was assessed. */
  private async isOutOfDate(assessed: string, shared: SharedFacts): Promise<boolean> {
    const dossier = await this.store.read.lotFiles.byDigest(assessed);
    return dossier !== undefined && !(await isStillAs(this.store.read, dossier, shared));
  }
}

/** How far a record goes, as its enclosure says. */
export function recordGoes(enclosure: string): { readonly draft: boolean; readonly final: boolean } {
  const { draft, final } = (JSON.parse(enclosure) as { record: { draft: boolean; final: boolean } }).record;
  return { draft, final };
}

const bySoonest = (a: LotLine, b: LotLine): number =>
  (a.neededBy ?? '9999').localeCompare(b.neededBy ?? '9999', 'en') || a.lot.localeCompare(b.lot, 'en');

/** Each reason once, with the implants that it concerns. */
function blockersOf(assessed: AssessedUnits | undefined): Blocker[] {
  const found = new Map<string, Blocker & { units: string[] }>();
  const wordsOf = reasonWords(assessed?.checks ?? []);
  for (const unit of assessed?.units ?? []) {
    for (const why of unit.why) {
      const { effect, check } = why;
      const { says, clearedBy } = wordsOf(why);
      const known = found.get(says);
      if (known) known.units.push(unit.serial);
      else found.set(says, { effect, says, clearedBy, check, units: [unit.serial] });
    }
  }
  return [...found.values()];
}
