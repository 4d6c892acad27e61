import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { capital } from '../capital.js';
import { designsText } from '../designs.js';
import { kindText } from '../kinds.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const what = ({ case: code, iteration }: Told): string => `Iteration ${iteration} of the design for case ${code}`;
const document = ({ kind, document: name }: Told): string => `${capital(kindText(kind))} ${name}`;
const REDESIGN =
  'Case designer: write a further iteration inside the envelope, or say under outside why it leaves it, which only the custom-made route allows; quality signs it.';

export const designInsideEnvelope: CheckPhrases = {
  title: 'Design inside its envelope, or the custom route signed',
  asks: 'Was each built design approved before the build, and does it lie inside an approved envelope or say why not on the custom-made route?',
  recompute: `For each built design of a case that has a law with another route than market, or whose file has any "case-design".
The design is the "case-design" with its iteration as revision: without it "no design". It is approved, else "no approval" or
"claimed, not signed"; when that was after "built": "approved after the build" [blocks release] (D). With "outside" in the design:
"outside on this route" when a law of the case asks for an envelope (see route-needs), or, without a law, the family is
patient-matched; and nothing more. Without, its "envelope": none pinned is "no envelope". It is approved likewise; "envelope not yet effective" (C) when its
"effectiveFrom" lies after "built". Each parameter of the design: "parameter not covered" when the envelope has none of that
name; "units do not compare" when it cannot be converted; "outside the envelope" [does not conform] below "min" or above "max".
"parameter not stated" for each of the envelope that the design leaves out; "site not covered" and "side not covered" when "sites"
and "sides" do not list its "anatomicalSite" and "side". Implants: those of the built design. Does not apply without such a one.`,
  basis: designsText,
  doesNotApply: 'no law is named that asks for a design of its own, and none is on record',
  rules: {
    ...approvalPhrases(document),
    'approved after the build': (facts) => ({
      says: `${document(facts)} was approved at ${timeText(facts.approvedAt)}, after the chamber was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: 'Process and quality engineer: decide what that means for the implants, with a rationale.',
    }),
    'no design': (facts) => ({
      says: `${what(facts)} is not on record.`,
      clearedBy: 'Case designer: take in the design from which the implant was built, with its model.',
    }),
    'no envelope': (facts) => ({ says: `${what(facts)} lies in no envelope.`, clearedBy: REDESIGN }),
    'outside on this route': (facts) => ({
      says: `${what(facts)} leaves its envelope, which the route of the case does not allow.`,
      clearedBy: REDESIGN,
    }),
    'envelope not yet effective': (facts) => ({
      says: `Envelope ${facts.envelope}, in which ${what(facts)} lies, was not yet effective at the build.`,
      clearedBy: CONCEDE,
    }),
    'outside the envelope': (facts) => ({
      says: `${what(facts)}: ${facts.parameter} lies outside envelope ${facts.envelope}.`,
      clearedBy: REDESIGN,
    }),
    'parameter not covered': (facts) => ({
      says: `${what(facts)}: envelope ${facts.envelope} says nothing of one of its parameters.`,
      clearedBy: REDESIGN,
    }),
    'parameter not stated': (facts) => ({
      says: `${what(facts)} does not state ${facts.parameter}, which envelope ${facts.envelope} limits.`,
      clearedBy: 'Case designer: take in a design that states it.',
    }),
    'units do not compare': (facts) => ({
      says: `${what(facts)} states ${facts.parameter} in a unit that does not compare with that of envelope ${facts.envelope}.`,
      clearedBy: 'Case designer: take in a design that states it in a unit of the same kind.',
    }),
    'site not covered': (facts) => ({
      says: `${what(facts)} is for a site that envelope ${facts.envelope} does not cover.`,
      clearedBy: REDESIGN,
    }),
    'side not covered': (facts) => ({
      says: `${what(facts)} is for a side that envelope ${facts.envelope} does not cover.`,
      clearedBy: REDESIGN,
    }),
  },
};
