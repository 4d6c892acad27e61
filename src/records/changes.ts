import type { Assessment } from '../assessment/assessment.js';
import { differencesBetween } from '../dossier/difference.js';
import type { Facts } from '../dossier/facts.js';
import type { SignedStatement } from '../dossier/statement.js';
import { differenceText } from '../report/phrases/differences.js';
import { signerText, subjectText } from '../report/phrases/signatures.js';
import { decisionOf } from './signatures.js';

/** What a record showed: its facts, what the program said of them, and what was signed on them. */
export interface Shown {
  readonly facts: Facts;
  readonly assessment: Pick<Assessment, 'units' | 'version'>;
  readonly signatures: readonly SignedStatement[];
}

/** What a new revision says otherwise than the one that it supersedes, in words, the gravest first. */
export function changesBetween(before: Shown, after: Shown): string[] {
  return [
    ...verdictChanges(before, after),
    ...decisionChanges(before, after),
    ...differencesBetween(before.facts, after.facts).map(({ what }) => sentence(differenceText(what))),
    ...newStatements(before, after),
    ...(before.assessment.version === after.assessment.version
      ? []
      : [
          `Assessed by the rules of version ${after.assessment.version}, before by those of version ${before.assessment.version}.`,
        ]),
  ];
}

const sentence = (words: string): string =>
  `${words[0]!.toUpperCase()}${words.slice(1)}${/[.!?]$/.test(words) ? '' : '.'}`;

function verdictChanges(before: Shown, after: Shown): string[] {
  const known = new Map(before.assessment.units.map((unit) => [unit.serial, unit.verdict]));
  const now = after.assessment.units.flatMap(({ serial, verdict }) => {
    const old = known.get(serial);
    if (old === verdict) return [];
    return [old === undefined ? `${serial} is new: ${verdict}.` : `${serial}: ${verdict}, before ${old}.`];
  });
  const gone = before.assessment.units
    .filter(({ serial }) => !after.assessment.units.some((unit) => unit.serial === serial))
    .map(({ serial }) => `${serial} is no longer part of the lot.`);
  return [...now, ...gone];
}

function decisionChanges(before: Shown, after: Shown): string[] {
  const decided = ({ signatures }: Shown, serial: string) =>
    decisionOf({ enclosure: { signatures: [...signatures] } }, serial)?.statement.meaning ?? 'not decided';
  return after.assessment.units.flatMap(({ serial }) => {
    const [old, now] = [decided(before, serial), decided(after, serial)];
    return old === now ? [] : [`Decision on ${serial}: ${now}, before ${old}.`];
  });
}

/** Statements on the lot itself; those on its facts are told among the facts. */
function newStatements(before: Shown, after: Shown): string[] {
  const known = new Set(before.signatures.map(({ digest }) => digest));
  return after.signatures
    .filter(({ digest }) => !known.has(digest))
    .map(({ statement }) => `Signed as ${statement.meaning} by ${signerText(statement)}: ${subjectText(statement)}.`);
}
