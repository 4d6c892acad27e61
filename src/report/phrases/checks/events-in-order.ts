import { timeText } from '../../../dossier/time-text.js';
import { counted } from '../counted.js';
import { kindText } from '../kinds.js';
import { type CheckPhrases, PAIRS, readFact } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const resultText = (row: string, file: string, line: string): string => `result ${row} (${file}, line ${line})`;

export const eventsInOrder: CheckPhrases = {
  title: 'Events in an order that can be true',
  asks: 'Do builds, steps and results follow each other, was everything recorded after it happened, does each result belong to a part of this lot, and to one alone?',
  recompute: `"not built yet" for each build with the state planned, with its implants. "step before the chamber was opened"
for each step with "at" before the latest "openedAt", with all. "lot opened after its build" [blocks release] (D) when "opened.at"
lies after the earliest "closedAt", with the implants of that build, unless the lot has "splitFrom". "fact after its recording" (D) for each document under
"pinned" of dossier.json with a time of a fact (listed above) more than 5 minutes after its "recordedAt", with all; a day begins
at 00:00 of +14:00. For each current row: "result after its recording" (D) when measuredAt lies more than 5 minutes after its
recordedAt; else "specimen of another lot", with all, when the lot has no such part; else "result before the build" when
measuredAt lies before "closedAt" of the specimen's own build. "two results for one replicate" for each further current row with
the specimen, piece, characteristic and replicate of an earlier one. Rows: with the implants of their specimen.`,
  basis: ({ builds, steps, results }) =>
    `${counted(builds!, 'build')}, ${counted(steps!, 'step')}, ${counted(results!, 'result')}`,
  rules: {
    'specimen of another lot': ({ row, file, line, specimen, lot }) => ({
      says: `${resultText(row, file, line)} is a value of ${specimen}, which is no implant or coupon of lot ${lot}.`,
      clearedBy: 'Operator: put the specimen back into lot.yaml, or correct the row with a reason.',
    }),
    'fact after its recording': ({ kind, document, recordedAt, happened }) => {
      const told = readFact(PAIRS, happened).map(([field, time]) => `${field} ${timeText(time)}`);
      return {
        says: `What is on record of ${kindText(kind)} ${document} was recorded at ${timeText(recordedAt)} and tells of later times: ${told.join(', ')}.`,
        clearedBy:
          'Operator: take the document in again with what had happened, or correct the times. Process and quality engineer: decide what the entry is worth.',
      };
    },
    'result after its recording': ({ row, file, line, specimen, measuredAt, recordedAt }) => ({
      says: `${resultText(row, file, line)} of ${specimen} says measured at ${timeText(measuredAt)} and was recorded at ${timeText(recordedAt)}.`,
      clearedBy:
        'Analyst: correct the time with a reason. Process and quality engineer: decide what the value is worth.',
    }),
    'result before the build': ({ row, file, line, specimen, measuredAt, build, closedAt }) => ({
      says: `${resultText(row, file, line)} of ${specimen} says measured at ${timeText(measuredAt)}; lot.yaml says that ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: 'Analyst or operator: find which of the two times is wrong and correct it with a reason.',
    }),
    'two results for one replicate': (facts) => ({
      says: `${resultText(facts.firstRow, facts.firstFile, facts.firstLine)} and ${resultText(facts.row, facts.file, facts.line)} both are ${facts.replicate}: ${facts.firstValue} and ${facts.value} ${facts.unit}.`,
      clearedBy: 'Analyst: number the replicates, or correct one of the two with a reason.',
    }),
    'step before the chamber was opened': ({ step, at, build, openedAt }) => ({
      says: `lot.yaml says that ${stepText(step)} was done at ${timeText(at)} and that ${build} was opened at ${timeText(openedAt)}.`,
      clearedBy: 'Operator: find which of the two times is wrong and correct it with a reason.',
    }),
    'lot opened after its build': ({ lot, openedAt, build, closedAt }) => ({
      says: `Lot ${lot} was opened at ${timeText(openedAt)}, after ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: 'Process and quality engineer: decide why the lot was opened late, or correct the time.',
    }),
    'not built yet': ({ build }) => ({
      says: `Build ${build} is only planned.`,
      clearedBy: 'Operator: after the build, set its state to built with the true times, and say so in "reason".',
    }),
  },
};
