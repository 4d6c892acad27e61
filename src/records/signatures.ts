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

/** How an implant stands by the statements and revocations that a record carries, in the order of the audit trail. */
export function courseOf({ enclosure }: { readonly enclosure: Decided }, serial: string): UnitCourse<SignedStatement> {
  const own = ({ units }: { readonly units: readonly string[] }) => units.includes(serial);
  const placeOf = (digest: string | undefined) => enclosure.course?.findIndex((one) => one.digest === digest) ?? 0;
  const happened = [
    ...enclosure.signatures
      .filter(({ statement }) => own(statement))
      .map((signed) => ({
        at: signed.statement.at,
        digest: signed.digest,
        turn: (course: UnitCourse<SignedStatement>) => afterStatement(course, signed),
      })),
    ...enclosure.states.filter(own).flatMap(({ step, at, signed }) =>
      step === undefined
        ? []
        : [
            {
              at,
              digest: signed && sha256Hex(signed.text),
              turn: (course: UnitCourse<SignedStatement>) => afterRevocation(course, step),
            },
          ],
    ),
  ].sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || placeOf(a.digest) - placeOf(b.digest));
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
  { enclosure }: { readonly enclosure: Pick<RecordView['enclosure'], 'signatures' | 'states' | 'assessmentSha256'> },
  serial: string,
): LiesOver[] {
  const own = enclosure.states.filter(({ units }) => units.length === 0 || units.includes(serial));
  const held = isHeld(enclosure, serial);
  const { decision, decided } = courseOf({ enclosure }, serial);
  const decidedAt = decided?.statement.at;
  // Whoever decided on the assessment that the record shows saw what is shown.
  const sawThis = decided?.statement.beside.some(({ digest }) => digest === enclosure.assessmentSha256) ?? false;
  const since = own.filter(({ at }) => decidedAt !== undefined && Date.parse(at) >= Date.parse(decidedAt));
  return [
    ...(held ? ['onHold' as const] : []),
    ...(decision === 'revoked' ? ['revoked' as const] : []),
    ...(!sawThis && isTurned(since, serial) ? ['turned' as const] : []),
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
  issue: Pick<RecordIssue, 'record' | 'signatures' | 'states' | 'forCase'> & Pick<Enclosure, 'assessmentSha256'>,
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
