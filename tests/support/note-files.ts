import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import { type Facts, PART_NAMES } from '../../src/dossier/facts.js';
import type { Pinned } from '../../src/dossier/schema.js';
import { RESULT_TABLE, SUMMARY_TABLE } from '../../src/dossier/tables.js';
import { recomputeNote } from '../../src/report/phrases/recompute/note.js';
import { Carried } from './by-note/carried.js';
import { assessmentDisagreements } from './by-note/compare.js';

/** Facts with what was assessed of them, as a stranger would find them attached to a record. */
export function attachedOf(facts: Facts, assessment: Assessment): Carried {
  const files = [
    ['dossier.json', json(facts.dossier)],
    ['assessment.json', json(assessment)],
    ['how-to-recompute.txt', recomputeNote({ facts, assessment, record: 'LR-1' })],
    ...partTexts(facts),
  ] as const;
  return new Carried(new Map(files.map(([name, text]) => [name, Buffer.from(text)])));
}

const json = (value: unknown): string => JSON.stringify(value);

/** The parts of a lot file, by their names. */
export const partTexts = (facts: Facts): ReadonlyMap<string, string> =>
  new Map([
    [PART_NAMES.results, RESULT_TABLE.write(facts.results)],
    [PART_NAMES.summaries, SUMMARY_TABLE.write(facts.summaries)],
    ...[...facts.logParts].map(([build, part]): [string, string] => [PART_NAMES.log(build), json(part)]),
    ...[...facts.caseParts].map(([code, part]): [string, string] => [PART_NAMES.case(code), json(part)]),
    ...(facts.consumablesUsed.length > 0
      ? [[PART_NAMES.uses, json({ uses: facts.consumablesUsed })] as [string, string]]
      : []),
    ...(facts.stock.origins.length + facts.stock.uses.length > 0
      ? [[PART_NAMES.stock, json(facts.stock)] as [string, string]]
      : []),
    ...(facts.simulation ? [[PART_NAMES.simulation, json(facts.simulation)] as [string, string]] : []),
    ...(facts.lateFacts.length > 0 ? [[PART_NAMES.late, json({ facts: facts.lateFacts })] as [string, string]] : []),
    ...(facts.history ? [[PART_NAMES.history, json(facts.history)] as [string, string]] : []),
  ]);

/** Assesses facts that a test changed, and holds that the note for strangers leads to the same. */
export function assessBothWays(facts: Facts): Assessment {
  const whole = listed(facts);
  const carried = attachedOf(whole, assess(whole, 'test'));
  expect(assessmentDisagreements(carried)).toEqual([]);
  return assess(facts, 'test');
}

/** Facts that a test changed, with the change in their list of documents too. */
export function listed(facts: Facts): Facts {
  const pinned = documentsOf(facts);
  return { ...facts, pinned, dossier: { ...facts.dossier, pinned, signatures: [...facts.signatures] } };
}

function documentsOf(facts: Facts): Pinned[] {
  const { recipes, methods, receipts, machines, validations, studies, powderStates, instruments, people } = facts;
  const { lot, family, specification, earlierSpecifications, resultSets, capabilityPlans } = facts;
  const { suppliers, materialSpecifications, loads, places, placeLogs, reworkInstructions } = facts;
  const { riskBuilds, changeovers, consumables, exposures, stockParts } = facts;
  const maps = [
    ...[riskBuilds, changeovers, consumables, exposures, stockParts],
    ...[recipes, methods, receipts, machines, validations, studies, powderStates, instruments, people],
    ...[suppliers, materialSpecifications, loads, places, placeLogs, reworkInstructions],
  ];
  const held = [lot, family, specification, ...earlierSpecifications, ...resultSets.values()];
  // What was read from the list is still all that the list said of it.
  const documents = [...held, ...capabilityPlans.values(), ...maps.flatMap((map) => [...map.values()])] as Pinned[];
  const known = new Map(facts.dossier.pinned.map((item) => [`${item.kind} ${item.digest}`, item]));
  const changed = documents.map((item) => {
    const { revision = item.revision } = item.body as { revision?: number };
    // Tests tell of the recording of a specification there, of other documents in the list.
    const from = item.kind === 'specification' ? item : known.get(`${item.kind} ${item.digest}`)!;
    return { ...item, revision, recordedAt: from.recordedAt };
  });
  const kinds = new Set(changed.map(({ kind }) => kind));
  return [...changed, ...facts.dossier.pinned.filter(({ kind }) => !kinds.has(kind))];
}
