import type { Gate } from '../../assessment/assessment.js';
import type { ReleaseStep } from '../../dossier/release-step.js';
import type { Statement } from '../../dossier/statement.js';
import { textBy } from './coded.js';
import { meaningText } from './codes.js';

/** What a release lets an implant go on to. */
export const RELEASE_STEP_WORDS: Readonly<Record<ReleaseStep, string>> = {
  sterilisation: 'sterilisation',
  distribution: 'distribution',
};
export const releaseStepText = textBy(RELEASE_STEP_WORDS);

/** What an implant has to have gone through before it may be distributed. */
export const GATE_WORDS: Readonly<Record<Gate['gate'], string>> = {
  clean: 'cleaned',
  pack: 'packed',
  sterilise: 'sterilised in an accepted load',
  label: 'labelled, with a sample of the labels looked at',
};

export const GATE_STATES: Readonly<Record<Gate['state'], string>> = {
  passed: 'on record',
  open: 'not on record',
};

/** `packed: not on record; sterilised in an accepted load: not on record`. */
export const gatesText = (gates: readonly Gate[]): string =>
  gates.map(({ gate, state }) => `${GATE_WORDS[gate]}: ${GATE_STATES[state]}`).join('; ');

/** What a statement means, with its step: `reviewed`, `released for sterilisation`. */
export const signedAsText = ({ meaning, step }: Pick<Statement, 'meaning' | 'step'>): string =>
  step === null ? meaningText(meaning) : `${meaningText(meaning)} for ${releaseStepText(step)}`;

/** `released for sterilisation`, and while a release for distribution is missing, that it is. */
export function releasedText(releasedFor: readonly ReleaseStep[]): string {
  const last = releasedFor.at(-1);
  if (last === undefined) return '';
  const released = signedAsText({ meaning: 'released', step: last });
  return last === 'distribution' ? released : `${released}, not for ${releaseStepText('distribution')}`;
}
