import { EXCURSION_RULES } from '../../../assessment/checks/log-findings-decided.js';
import { wrapped } from './wrapped.js';

/** What was made in which closure of the chamber, and which parts a finding of a log touches. */
export const LOG_FINDINGS = `9. What does a log finding touch?
  Made in a build: a part went through its "build", and through those named under "alsoIn"; each with the builds that it
  "continues", and so on. The first of these to which a build belongs says how the part was made there: by the recipe of the
  "alsoIn" or else its own; of an "alsoIn" the steps that it names, of its own build all steps but those that an "alsoIn" without
  recipe names. A zone has in each build the layers from "fromLayer" (of "continues" of that build; else its first) to the one
  before "fromLayer" of the build that continues it (else its last). A part of which no layer is left was not made there.

  Findings are those of log-BUILD.json. A place covers a zone when its zone is that one, or null, and its layers overlap, null
  being all. Where a finding has no place, or one that covers no zone of any part made in the build, it covers every zone of every
  part made there. It touches the parts of which it covers a zone.
  Left out is an excursion when a more severe one (reject, action, alert) of the same build, channel and facts.direction began and
  ended within its startedAt to endedAt, both included, and touches every implant that it touches.
  More than ten of what is left that have build, rule, channel, level, facts.direction, facts.what, and the touched implants and
  coupons in common are one, with the places of all; its identity is the digest of {"lot", "build", "rule", "level", "channel",
  "members"}, members being the "id" of each, sorted.
  Decided: of the "decided" statements that cover its identity one has the outcome rejected: rejected. Else accepted when one is by
  a person in the role process engineer and one by another person in the role quality engineer. Else it is open.
  It acts on the implants that it touches; where it touches coupons and no implant, on those for whom these coupons stand. An alert
  does nothing. Reject, or rejected: [does not conform], but nothing where it touches coupons alone. Action: nothing when accepted,
  else [cannot be decided]. No other decision lifts it.
${wrapped(
  `On what the process did are the rules ${[...EXCURSION_RULES].map((rule) => `"${rule}"`).join(', ')}; all others are on whether the log can be trusted.`,
  '  ',
)}
`;
