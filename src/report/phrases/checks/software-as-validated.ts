import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const name = ({ program }: Told): string => `Program ${program}`;

export const softwareAsValidated: CheckPhrases = {
  title: 'Programs in the versions that were validated',
  asks: 'Was each program that made a design or a path, or ran the machine, approved and validated before the build, and was it that version which ran?',
  recompute: `Programs: each revision under "software" of a built design, with its implants and "built", and of the recipe of a use,
with its implants and "closedAt" of the build; of one named several times all implants and the earliest of these times. For each:
"not on record" when no document "software" of that revision is pinned, in the lot file or the part of a case; it is approved, else
"no approval" or "claimed, not signed"; "approved after the build" (C) when it was after the time; "validated after the build" (C)
when "on" under "validatedBy" is later than the calendar date of that time as written there. For each use and each program of its
recipe: "version not stated" (C) when "software" of the build does not list its code, else "another version" (C) for each "version"
listed there that is not that of the document. "not named by the recipe" (C) for each program that the build lists and the recipe does not. Does not
apply when no program is named by a design or a recipe and no build lists one.`,
  basis: ({ programs }) => `programs of designs and recipes: ${programs}`,
  doesNotApply: 'no design, recipe or build names a program',
  rules: {
    ...approvalPhrases(name),
    'not on record': (facts) => ({
      says: `${name(facts)} is not on record.`,
      clearedBy: 'Process engineer: take it in, with the report of its validation.',
    }),
    'approved after the build': (facts) => ({
      says: `${name(facts)} was approved at ${timeText(facts.approvedAt)}, after the chamber was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: CONCEDE,
    }),
    'validated after the build': (facts) => ({
      says: `${name(facts)} was validated on ${facts.on}, after the chamber was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: CONCEDE,
    }),
    'version not stated': (facts) => ({
      says: `Recipe ${facts.recipe} names program ${facts.program}, and nobody wrote down which version ran in build ${facts.build}.`,
      clearedBy: 'Operator: enter it in the lot under the build, as the program or the machine itself says it.',
    }),
    'another version': (facts) => ({
      says: `In build ${facts.build} program ${facts.program} ran in version ${facts.version}; version ${facts.validated} was validated.`,
      clearedBy: CONCEDE,
    }),
    'not named by the recipe': (facts) => ({
      says: `In build ${facts.build} ran program ${facts.program}, which recipe ${facts.recipe} does not name.`,
      clearedBy: CONCEDE,
    }),
  },
};
