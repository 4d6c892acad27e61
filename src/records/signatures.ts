import type { Assessment } from '../assessment/assessment.js';
import type { DecidedUnits } from '../assessment/counts.js';
import { gatesOpen } from '../assessment/gates.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import type { SignedStatement } from '../dossier/statement.js';
import {
  afterRevocation,
  afterStatement,
  NOT_DECIDED,
  stepsReleased,
  type UnitCourse,
} from '../dossier/unit-course.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { RecordState } from '../pdf/record-state.js';
import type { LiesOver } from '../report/phrases/decision.js';
import type { Enclosure, RecordIssue, StateNote } from './enclosure.js';
import { shownSerials } from './one-case.js';
import type { RecordView } from './record-view.js';

type Shown = Pick<RecordView, 'facts' | 'enclosure'>;

/** Every signed statement that the record carries, those on facts of the lot file included, in the order of signing. */
export function signaturesOf({ facts, enclosure }: Shown): SignedStatement[] {
  const all = new Map([...facts.signatures, ...enclosure.signatures].map((signed) => [signed.digest, signed]));
  return [...all.values()].sort((a, b) => Date.parse(a.statement.at) - Date.parse(b.statement.at));
}

/** What a record carries of decisions and of what befell them. */
type Decided = Pick<RecordView['enclosure'], 'signatures' | 'states' | 'course'>;

/** One thing that befell the lot, as a record tells it. */
interface Told {
  readonly at: string;
  /** By which the course lists it; undefined where the record does not carry what was recorded. */
  readonly digest: string | undefined;
}

const toldOf = ({ at, signed, text }: StateNote): Told => {
  const recorded = signed?.text ?? text;
  return { at, digest: recorded === undefined ? undefined : sha256Hex(recorded) };
};

/**
 * What befell the lot first stands first: by the place that the course lists, since a clock that was set right between two
 * acts tells them the other way round. By time where the course is absent, or does not list one of the two.
 */
const inOrderOf = ({ course }: Pick<Enclosure, 'course'>) => {
  const places = new Map(course?.map(({ digest }, place) => [digest, place]));
  return (a: Told, b: Told): number => {
    const [before, after] = [a, b].map(({ digest }) => places.get(digest ?? ''));
    return before === undefined || after === undefined ? Date.parse(a.at) - Date.parse(b.at) : before - after;
  };
};

/** How an implant stands by the statements and revocations that a record carries, in the order of the audit trail. */
export function courseOf({ enclosure }: { readonly enclosure: Decided }, serial: string): UnitCourse<SignedStatement> {
  const own = ({ units }: { readonly units: readonly string[] }) => units.includes(serial);
  const happened = [
    ...enclosure.signatures
      .filter(({ statement }) => own(statement))
      .map((signed) => ({
        at: signed.statement.at,
        digest: signed.digest,
        turn: (course: UnitCourse<SignedStatement>) => afterStatement(course, signed),
      })),
    ...enclosure.states.filter(own).flatMap((note) => {
      const { step } = note;
      if (step === undefined) return [];
      return [{ ...toldOf(note), turn: (course: UnitCourse<SignedStatement>) => afterRevocation(course, step) }];
    }),
  ].sort(inOrderOf(enclosure));
  return happened.reduce<UnitCourse<SignedStatement>>((course, { turn }) => turn(course), NOT_DECIDED);
}

/** What was decided on an implant last, by a signed statement on a lot file. */
export const decisionOf = (view: { readonly enclosure: Decided }, serial: string): SignedStatement | undefined =>
  courseOf(view, serial).decided ?? undefined;

/**
 * What lies over a decision on an implant: a hold that nobody lifted, a release that was revoked after it, or another verdict
 * by later rules than the one on which it was decided.
 */
export function standsOver(
  { enclosure }: { readonly enclosure: Decided & Pick<RecordView['enclosure'], 'assessmentSha256'> },
  serial: string,
): LiesOver[] {
  const own = enclosure.states.filter(({ units }) => units.length === 0 || units.includes(serial));
  const held = isHeld(enclosure, serial);
  const { decision, decided } = courseOf({ enclosure }, serial);
  const inOrder = inOrderOf(enclosure);
  const isSince = (note: StateNote) =>
    decided !== null && inOrder(toldOf(note), { at: decided.statement.at, digest: decided.digest }) >= 0;
  // Whoever decided on the assessment that the record shows saw what is shown.
  const sawThis = decided?.statement.beside.some(({ digest }) => digest === enclosure.assessmentSha256) ?? false;
  return [
    ...(held ? ['onHold' as const] : []),
    ...(decision === 'revoked' ? ['revoked' as const] : []),
    ...(!sawThis && isTurned(own.filter(isSince), serial) ? ['turned' as const] : []),
  ];
}

/** A hold that nobody lifted; one without units lies on the lot as a whole. */
const isHeld = ({ states }: Pick<Enclosure, 'states'>, serial: string): boolean =>
  states.filter(({ what, units }) => what.startsWith('hold-') && (units.length === 0 || units.includes(serial))).at(-1)
    ?.what === 'hold-placed';

/** Not where a program that was taken back came to the first verdict again. */
function isTurned(notes: readonly StateNote[], serial: string): boolean {
  const turns = notes.flatMap(({ turned }) => turned?.implants.filter((implant) => implant.serial === serial) ?? []);
  const [was, is] = [turns[0]?.before, turns.at(-1)?.after];
  return was?.verdict !== is?.verdict || was?.releasable !== is?.releasable;
}

/** Which of the implants told of are released, each for the last step that stands, and which are rejected. */
export function decidedUnits(view: Shown): DecidedUnits {
  const serials = shownSerials(view.facts.lot.body, view.enclosure.forCase);
  const released = (step: ReleaseStep) =>
    serials.filter((serial) => stepsReleased(courseOf(view, serial)).at(-1) === step);
  return {
    released: { sterilisation: released('sterilisation'), distribution: released('distribution') },
    rejected: serials.filter((serial) => courseOf(view, serial).decision === 'rejected'),
  };
}

/** A draft while nobody decided on any implant that it tells of. */
export const stateOf = ({ draft, final }: Enclosure['record']): RecordState =>
  draft ? 'draft' : final ? 'final' : 'not-final';

/**
 * Whether a record may call itself final: each implant that it tells of is rejected, gone, or may be distributed as it
 * stands, through every gate of its route. One gate that this version cannot record keeps it from that.
 */
export function isFinal(
  { lot }: Facts,
  { units }: Pick<Assessment, 'units'>,
  issue: Decided & Pick<RecordIssue, 'record' | 'forCase'> & Pick<Enclosure, 'assessmentSha256'>,
): boolean {
  if (issue.record.draft) return false;
  return shownSerials(lot.body, issue.forCase).every((serial) => {
    const { decision, releases } = courseOf({ enclosure: issue }, serial);
    if (fateOf(lot.body, serial) !== undefined || decision === 'rejected') return true;
    const isReleased =
      stepsReleased({ releases }).includes('distribution') && standsOver({ enclosure: issue }, serial).length === 0;
    const gates = units.find((unit) => unit.serial === serial)?.gates;
    return isReleased && gates !== undefined && gatesOpen(gates).length === 0;
  });
}
