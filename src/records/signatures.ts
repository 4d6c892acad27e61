import type { DecidedUnits } from '../assessment/counts.js';
import { type Meaning, type SignedStatement } from '../dossier/statement.js';
import type { LiesOver } from '../report/phrases/decision.js';
import type { StateNote } from './enclosure.js';
import { shownSerials } from './one-case.js';
import type { RecordView } from './record-view.js';

type Shown = Pick<RecordView, 'facts' | 'enclosure'>;

/** Every signed statement that the record carries, those on facts of the lot file included, in the order of signing. */
export function signaturesOf({ facts, enclosure }: Shown): SignedStatement[] {
  const all = new Map([...facts.signatures, ...enclosure.signatures].map((signed) => [signed.digest, signed]));
  return [...all.values()].sort((a, b) => Date.parse(a.statement.at) - Date.parse(b.statement.at));
}

/** What was decided on an implant last, by a signed statement on a lot file. */
export function decisionOf(
  { enclosure }: { readonly enclosure: Pick<RecordView['enclosure'], 'signatures'> },
  serial: string,
): SignedStatement | undefined {
  return enclosure.signatures
    .filter(({ statement }) => statement.meaning === 'released' || statement.meaning === 'rejected')
    .filter(({ statement }) => statement.units.includes(serial))
    .sort((a, b) => Date.parse(a.statement.at) - Date.parse(b.statement.at))
    .at(-1);
}

/**
 * What lies over a decision on an implant: a hold that nobody lifted, a release that was revoked after it, or another verdict
 * by later rules than the one on which it was decided.
 */
export function standsOver(
  { enclosure }: { readonly enclosure: Pick<RecordView['enclosure'], 'signatures' | 'states' | 'assessmentSha256'> },
  serial: string,
): LiesOver[] {
  const own = enclosure.states.filter(({ units }) => units.length === 0 || units.includes(serial));
  const held = own.findLast(({ what }) => what.startsWith('hold-'))?.what === 'hold-placed';
  const decision = decisionOf({ enclosure }, serial)?.statement;
  const decidedAt = decision?.at;
  // Whoever decided on the assessment that the record shows saw what is shown.
  const sawThis = decision?.beside.some(({ digest }) => digest === enclosure.assessmentSha256) ?? false;
  const since = own.filter(({ at }) => decidedAt !== undefined && Date.parse(at) >= Date.parse(decidedAt));
  return [
    ...(held ? ['onHold' as const] : []),
    ...(since.some(({ what }) => what === 'release-revoked') ? ['revoked' as const] : []),
    ...(!sawThis && isTurned(since, serial) ? ['turned' as const] : []),
  ];
}

/** Not where a program that was taken back came to the first verdict again. */
function isTurned(notes: readonly StateNote[], serial: string): boolean {
  const turns = notes.flatMap(({ turned }) => turned?.implants.filter((implant) => implant.serial === serial) ?? []);
  const [was, is] = [turns[0]?.before, turns.at(-1)?.after];
  return was?.verdict !== is?.verdict || was?.releasable !== is?.releasable;
}

/** Which of the implants told of are released and rejected as it stands: a release that was revoked is neither. */
export function decidedUnits(view: Shown): DecidedUnits {
  const decided = (meaning: Meaning) =>
    shownSerials(view.facts.lot.body, view.enclosure.forCase)
      .filter((serial) => !standsOver(view, serial).includes('revoked'))
      .filter((serial) => decisionOf(view, serial)?.statement.meaning === meaning);
  return { released: decided('released'), rejected: decided('rejected') };
}
