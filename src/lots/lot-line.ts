import type { Effect, Verdict } from '../assessment/assessment.js';
import type { PlaceStep } from '../dossier/unit-places.js';
import { isAway } from '../kinds/after-release/places.js';
import { fateOf } from '../kinds/lot-after-build.js';
import { partsInside } from '../kinds/split-lot.js';
import { reasonWords } from '../report/assessment-words.js';
import { changedVerdictText } from '../report/phrases/earlier-version.js';
import { lotStateText, proposedText } from '../report/phrases/lot-state.js';
import { isStillAs } from '../store/assemble-dossier.js';
import { currentLot } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import { type AssessedUnits, assessedUnits, isOfEarlierVersion } from './assessed-units.js';
import { type LotStage, stageOf } from './lot-stage.js';
import type { Made } from './make-kept.js';
import { type PlacedPart, placesOfImplantsIn } from './unit-places.js';
import { type UnitState, unitStates } from './unit-states.js';
import { unseenChanges, type VerdictChange } from './verdict-changes.js';

export interface Blocker {
  readonly effect: Effect;
  readonly says: string;
  readonly clearedBy: string;
  /** Code of the check that says so, or `acceptance`. */
  readonly check: string;
  /** Identities of the findings of which this is said. */
  readonly findings: readonly string[];
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
  readonly where: UnitPlace;
}

/** Where an implant is. */
export interface UnitPlace extends PlaceStep {
  /** A document on record contradicts it. */
  readonly contradicted: boolean;
}

/** The line of one lot, with what lists ask of it: by what they are in order, and whether it asks something of people. */
export async function make(read: Reads, lot: string): Promise<Made<LotLine>> {
  const line = await lineOf(read, lot);
  const asks = line.changedVerdicts.length > 0 || line.units.some(({ hold }) => hold !== null);
  const { closed, ofEarlierVersion: awaiting, neededBy } = line;
  return { value: line, marks: { closed, asks, awaiting, neededBy: neededBy ?? '9999' } };
}

async function lineOf(read: Reads, code: string): Promise<LotLine> {
  const lot = await currentLot(read, code);
  const { implants } = partsInside(lot);
  const days: string[] = [];
  for (const own of new Set(implants.map((implant) => implant.case))) {
    const found = await read.entries.current('case', own);
    if (found) days.push(found.body.neededBy);
  }
  const assessed = (await assessedUnits(read, code)).get(code);
  const record = (await read.records.ofLot(code)).at(-1);
  const statements = await read.signatures.of({ kind: 'lot file', key: code });
  const events = await read.events.of({ kind: 'lot', key: code });
  const serials = implants.map((implant) => implant.serial);
  const states = unitStates(serials, statements, events);
  const closed =
    (states.length > 0 || lot.moved !== undefined) &&
    states.every(
      ({ serial, decision, releasedFor }) =>
        decision === 'rejected' || releasedFor.includes('distribution') || fateOf(lot, serial) !== undefined,
    );
  const placed = await placesOfImplantsIn(read, lot);
  const units = implants.map(
    (implant, index): LotUnit => ({
      serial: implant.serial,
      case: implant.case,
      verdict: assessed?.units.find((unit) => unit.serial === implant.serial)?.verdict ?? 'not assessed',
      decision: states[index]!.decision,
      releasedFor: states[index]!.releasedFor,
      hold: states[index]!.hold?.reason ?? null,
      where: whereOf(placed[index]!),
    }),
  );
  const sent = new Set(placed.filter(hasLeft).map(({ key }) => key));
  return {
    lot: lot.lot,
    family: lot.family,
    cases: [...new Set(implants.map((implant) => implant.case))],
    neededBy: days.sort()[0] ?? null,
    state: states.some(({ decision, hold }) => decision !== 'open' || hold !== null)
      ? lotStateText(states)
      : proposedText(units.map((unit) => unit.verdict)),
    stage: stageOf({ lot, assessed, statements, states, closed, sent }),
    units,
    blockers: closed ? [] : blockersOf(assessed, serials),
    record: record ? { number: record.number, revision: record.revision, ...recordGoes(record.enclosure) } : null,
    assessed: assessed !== undefined,
    ofEarlierVersion: assessed !== undefined && isOfEarlierVersion(assessed),
    changedVerdicts: unseenChanges(events).map(({ seen: _, ...change }) => ({
      ...change,
      says: changedVerdictText(change),
    })),
    closed,
    outOfDate: assessed !== undefined && !closed && (await isOutOfDate(read, assessed.dossierDigest)),
  };
}

const whereOf = ({ place, since, by, holder, course }: PlacedPart): UnitPlace => ({
  ...{ place, since, by, holder },
  contradicted: course.faults.length > 0,
});

const hasLeft = ({ course }: PlacedPart): boolean => course.steps.some(({ place }) => isAway(place));

/** The lot as it stands gives another digest than the lot file that was assessed. */
async function isOutOfDate(read: Reads, assessed: string): Promise<boolean> {
  const dossier = await read.lotFiles.byDigest(assessed);
  return dossier !== undefined && !(await isStillAs(read, dossier));
}

/** How far a record goes, as its enclosure says. */
export function recordGoes(enclosure: string): { readonly draft: boolean; readonly final: boolean } {
  const { draft, final } = (JSON.parse(enclosure) as { record: { draft: boolean; final: boolean } }).record;
  return { draft, final };
}

/** Each reason once, with the implants of the lot that it concerns. What a concession lets go keeps nothing back. */
function blockersOf(assessed: AssessedUnits | undefined, serials: readonly string[]): Blocker[] {
  const found = new Map<string, Blocker & { units: string[]; findings: string[] }>();
  const wordsOf = reasonWords(assessed?.checks ?? []);
  for (const unit of assessed?.units ?? []) {
    if (!serials.includes(unit.serial)) continue;
    for (const why of unit.why) {
      const { effect, check, finding, conceded } = why;
      if (conceded) continue;
      const { says, clearedBy } = wordsOf(why);
      const known = found.get(says);
      if (!known) found.set(says, { effect, says, clearedBy, check, findings: [finding], units: [unit.serial] });
      else {
        known.units.push(unit.serial);
        if (!known.findings.includes(finding)) known.findings.push(finding);
      }
    }
  }
  return [...found.values()];
}
