import type { DecidedCount } from '../assessment/counts.js';
import { type Meaning, type SignedStatement } from '../dossier/statement.js';
import { DECISION } from '../report/phrases/decision.js';
import type { RecordView } from './record-view.js';

type Shown = Pick<RecordView, 'facts' | 'enclosure'>;

/** Every signed statement that the record carries, those on facts of the lot file included, in the order of signing. */
export function signaturesOf({ facts, enclosure }: Shown): SignedStatement[] {
  const all = new Map([...facts.dossier.signatures, ...enclosure.signatures].map((signed) => [signed.digest, signed]));
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

/** What lies over a decision on an implant: a hold that nobody lifted, or a release that was revoked after it. */
export function standsOver(
  { enclosure }: { readonly enclosure: Pick<RecordView['enclosure'], 'signatures' | 'states'> },
  serial: string,
): string[] {
  const own = enclosure.states.filter(({ units }) => units.length === 0 || units.includes(serial));
  const held = own.filter(({ what }) => what !== 'release-revoked').at(-1)?.what === 'hold-placed';
  const decidedAt = decisionOf({ enclosure }, serial)?.statement.at;
  const revoked = own.some(
    ({ what, at }) => what === 'release-revoked' && decidedAt !== undefined && Date.parse(at) >= Date.parse(decidedAt),
  );
  return [...(held ? [DECISION.onHold] : []), ...(revoked ? [DECISION.revoked] : [])];
}

/** How many implants are released and rejected as it stands: a release that was revoked is neither. */
export function decidedCount(view: Shown): DecidedCount {
  const decisions = view.facts.lot.body.implants
    .filter(({ serial }) => !standsOver(view, serial).includes(DECISION.revoked))
    .map(({ serial }) => decisionOf(view, serial)?.statement.meaning);
  const count = (meaning: Meaning) => decisions.filter((decision) => decision === meaning).length;
  return { released: count('released'), rejected: count('rejected') };
}
