import { timeText } from '../../../dossier/time-text.js';
import { UPKEEP } from '../../../kinds/machine.js';
import type { CheckPhrases, Phrase, Told } from '../phrase.js';
import { upkeepText } from '../trade-codes.js';

const closed = ({ build, closedAt }: Told): string => `before ${build} was closed at ${timeText(closedAt)}`;

const machine = ({ title, machine: code }: Told): string => `${title} (${code})`;

const words =
  (says: (facts: Told) => string): Phrase =>
  (facts) => ({
    says: says(facts),
    clearedBy: `Process engineer: take in the record of the ${upkeepText(facts.upkeep)}, or assess what the machine did since the last one.`,
  });

const noneOnRecord = words(
  (facts) => `${machine(facts)} has no ${upkeepText(facts.upkeep)} on record ${closed(facts)}.`,
);
const failed = words(
  (facts) =>
    `${machine(facts)} failed its ${upkeepText(facts.upkeep)} at ${timeText(facts.done)}, and none passed ${closed(facts)}.`,
);
const overdue = words(
  (facts) =>
    `The ${upkeepText(facts.upkeep)} of ${machine(facts)} had been due on ${timeText(facts.due)}, ${closed(facts)}.`,
);

export const machinesMaintained: CheckPhrases = {
  title: 'Maintenance, leak test and power check in date',
  asks: 'Had each machine passed its maintenance, leak test and power check, and was none due when the chamber closed?',
  recompute: `For each build and each of maintenance, leak test and power check: the latest such entry under "upkeep" of the
machine that is not after "closedAt" of the build. None: "no maintenance on record" (C); with the result failed: "maintenance
failed" (C); "closedAt" after its "due": "maintenance overdue" (C); the same with the other two names. Implants: those of the
build.`,
  basis: ({ machines }) => machines,
  rules: Object.assign(
    {},
    ...UPKEEP.map(
      (kind): Readonly<Record<string, Phrase>> => ({
        [`no ${kind} on record`]: noneOnRecord,
        [`${kind} failed`]: failed,
        [`${kind} overdue`]: overdue,
      }),
    ),
  ),
};
