import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const name = ({ instruction }: Told): string => `Rework instruction ${instruction}`;

export const reworkRepeated: CheckPhrases = {
  title: 'Rework by an approved instruction',
  asks: 'Was each rework decided, done by an instruction approved before it, no more often than allowed, and followed by new measurements?',
  recompute: `Steps of the lot that name an "instruction" are reworks; their parts are "parts", without these all parts. For each
revision of an instruction named: "instruction not on record" when it is not pinned; else "no approval" or "claimed, not signed" where
it is not approved, "approved after the work" (C) when it was after the first "at" of its steps, and "not yet effective" (C) when
"effectiveFrom" lies after that. Implants: those of all parts of its steps, of a coupon those under "standsFor". For each implant and
each instruction code of its steps, by the revision that the last of them names: "not decided as rework" unless the nonconformity that
the instruction names touches the implant, its disposition is decided as accepted (check nonconformities-closed) and says "rework" of
it; else "decided after the work" (C) when the earliest "at" until which the statements of that decision were by both (as in section 9)
lies after the first "at" of its steps. For each step name that the instruction lists: its times are the steps of that name of the implant by this code, divided by how
often the instruction lists the name, rounded up; the most of these is how often it was reworked: "reworked too often" (C) when that is
more than "timesAtMost", "step left out" (C) when the implant has fewer steps of a name than that many times what is listed. "not
measured again" (C) when a characteristic under "repeat", but for those under "disturbs" that the specification has, has no current
row measured at or after the last of these steps, on the implant or on a coupon that stands for it. At last "no rework by an
instruction" for each implant whose disposition is decided as "rework" and that has no such step by an instruction for that
nonconformity. Does not apply where no step names an instruction and no such disposition is decided.`,
  basis: ({ units, steps }) => `${steps} steps by rework instructions on ${units} implants`,
  doesNotApply: 'nothing was reworked, and nothing was decided to be',
  rules: {
    ...approvalPhrases(name),
    'instruction not on record': (facts) => ({
      says: `${name(facts)}, which a step names, is not on record.`,
      clearedBy: 'Process engineer: take in the instruction, or correct the step with a reason.',
    }),
    'approved after the work': (facts) => ({
      says: `${name(facts)} was approved at ${timeText(facts.approvedAt)}, after work by it began at ${timeText(facts.at)}.`,
      clearedBy: CONCEDE,
    }),
    'not yet effective': (facts) => ({
      says: `${name(facts)} is effective from ${timeText(facts.effectiveFrom)}, after work by it began at ${timeText(facts.at)}.`,
      clearedBy: CONCEDE,
    }),
    'not decided as rework': (facts) => ({
      says: `${facts.unit} was reworked by ${facts.instruction}, and nobody decided that for it in nonconformity ${facts.nonconformity}.`,
      clearedBy: `Process engineer and quality engineer: decide in nonconformity ${facts.nonconformity} what becomes of it.`,
    }),
    'decided after the work': (facts) => ({
      says: `${facts.unit} was reworked from ${timeText(facts.at)} on; that was decided in nonconformity ${facts.nonconformity} at ${timeText(facts.decidedAt)}, afterwards.`,
      clearedBy: CONCEDE,
    }),
    'reworked too often': (facts) => ({
      says: `${facts.unit} went through rework by ${facts.instruction} ${facts.times} times; ${facts.most} are allowed.`,
      clearedBy: CONCEDE,
    }),
    'step left out': (facts) => ({
      says: `${facts.unit} was reworked by ${facts.instruction} without all of its steps: ${facts.lacks} is wanting.`,
      clearedBy: `Operator: do the step, and take it in with the lot. Where that cannot be done any more: ${CONCEDE}`,
    }),
    'not measured again': (facts) => ({
      says: `${facts.unit} was reworked at ${timeText(facts.at)} by ${facts.instruction}, and not measured again in ${facts.characteristics}.`,
      clearedBy: 'Analyst: measure it again, and take the values in.',
    }),
    'no rework by an instruction': ({ unit, nonconformity }) => ({
      says: `By nonconformity ${nonconformity}, ${unit} is to be reworked, and no step by an instruction for it is on record.`,
      clearedBy:
        'Operator: rework it by the approved instruction, and take the steps in with the lot, each with its instruction.',
    }),
  },
};
