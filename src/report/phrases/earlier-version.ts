import { checkTitle } from '../assessment-words.js';

/** What is said where an assessment stands that an earlier version made. */
export const EARLIER_VERSION =
  'Assessed by an earlier version of the program: it waits to be assessed again by this one.';

/** For the log of the service, which names no lot. */
export const NOT_ASSESSED_AGAIN =
  'a lot could not be assessed again after an upgrade: the first page names it and says why';

interface Turned {
  readonly serial: string;
  readonly before: { readonly verdict: string; readonly releasable: boolean };
  readonly after: { readonly verdict: string; readonly releasable: boolean };
  readonly checks: readonly { readonly check: string; readonly before: string | null; readonly after: string | null }[];
  readonly notAgain?: { readonly why: string } | null;
}

/** A verdict that this version changed: `L-1-I1: does not conform, before conforms. Lot counts balance: fails, before passes.` */
export function changedVerdictText({ serial, before, after, checks, notAgain }: Turned): string {
  const verdict =
    before.verdict === after.verdict ? `${after.verdict} as before` : `${after.verdict}, before ${before.verdict}`;
  const held = after.releasable
    ? 'nothing holds it back any more'
    : 'by these rules it would be held back from release';
  const release = before.releasable === after.releasable ? '' : `; ${held}`;
  const why = checks.map(
    (one) => ` ${checkTitle(one.check)}: ${one.after ?? NOT_ASKED}, before ${one.before ?? NOT_ASKED}.`,
  );
  const apart = notAgain ? ` ${notApartText(notAgain.why)}` : '';
  return `${serial}: ${verdict}${release}.${why.join('')}${apart}`;
}

type Turns = Pick<Turned, 'checks'> & {
  readonly implants: readonly Omit<Turned, 'checks' | 'notAgain'>[];
  readonly notAgain?: { readonly why: string } | null | undefined;
};

/** The same of every implant that was turned at once. */
export const turnedText = ({ implants, checks, notAgain = null }: Turns): string =>
  implants.map((implant) => changedVerdictText({ ...implant, checks, notAgain })).join(' ');

const notApartText = (why: string): string =>
  `These rules cannot assess the lot file of before (${why}), so that later facts may have changed it too.`;

/** What became of the assessment that was signed last, where no verdict differs. */
export const ASSESSED_SINCE = 'another version of the rules assessed it since; it came to the same verdicts';
export const SIGNED_ASSESSMENT_GONE = 'the assessment that was signed last is not here: compare the verdicts yourself';

const NOT_ASKED = 'not asked';

/** What the service logs where it could not assess again: a lot, or which lots there are. */
export const notAssessedAgainText = (lot: string, why: string): string =>
  `${lot === '' ? 'lots' : `lot ${lot}`} could not be assessed again: ${why}`;

/** How many lots wait for that; empty for none. */
export function awaitingText(lots: number): string {
  if (lots === 0) return '';
  const [who, show] = lots === 1 ? ['1 lot waits', 'it shows'] : [`${lots} lots wait`, 'they show'];
  return `${who} to be assessed again by this version of the program: until then ${show} what an earlier version said.`;
}
