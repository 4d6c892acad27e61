import { z } from 'zod';
import { parseCanonicalJson } from '../dossier/canonical.js';
import type { PersonKeys } from '../ledger/person-keys.js';
import { type ActFault, faultOfSignatures } from '../ledger/signed-acts.js';
import type { Enclosure, StateNote } from '../records/enclosure.js';
import type { Steps } from './report.js';

/** What each act says, whatever else stands in its text. */
const Act = z.object({
  what: z.literal('act'),
  act: z.object({
    type: z.string(),
    lot: z.string(),
    units: z.array(z.string()).optional(),
    step: z.string().optional(),
  }),
  at: z.string(),
  actor: z.string(),
  reason: z.string().nullable(),
});

/** What lies over the decisions of a lot by the word of a person; a hold that has its cause was placed by the program. */
const isOfPerson = ({ what, cause }: StateNote): boolean =>
  what === 'hold-lifted' ||
  what === 'release-revoked' ||
  what === 'verdict-changes-seen' ||
  (what === 'hold-placed' && cause === undefined);

/**
 * Checks that holds, revocations and what people said of changed verdicts are each signed by the person that the record
 * names, and that the record tells of them what was signed.
 * @param people keys by moments, as the record carries them.
 * @returns how many there are; undefined when one does not hold.
 */
export function checkActs(
  record: Pick<Enclosure, 'states' | 'lot' | 'forCase'>,
  people: PersonKeys,
  steps: Steps,
): number | undefined {
  const acts = record.states.filter(isOfPerson);
  const faults = acts.flatMap((note) => {
    const fault = faultOf(note, record, people);
    return fault === undefined ? [] : [{ note, fault }];
  });
  for (const { note, fault } of faults) {
    const { what, by, at } = note;
    steps.broken('signatures', { code: 'act does not hold', facts: { what, by, at, fault } });
  }
  return faults.length === 0 ? acts.length : undefined;
}

function faultOf(
  note: StateNote,
  record: Pick<Enclosure, 'lot' | 'forCase'>,
  people: PersonKeys,
): ActFault | 'another act' | undefined {
  if (note.signed === undefined) return 'not signed';
  const { text, signatures } = note.signed;
  const act = actIn(text);
  if (act === undefined || !saysSame(note, act, record)) return 'another act';
  const persons = signatures.map(({ person }) => person);
  if (persons.length !== 1 || !isBy(note.by, persons[0]!)) return 'key of somebody else';
  return faultOfSignatures({ persons, text, signatures }, people, Date.parse(act.at));
}

const isBy = (actor: string, person: string): boolean =>
  actor === `person:${person}` || actor.startsWith(`person:${person} through `);

function actIn(text: string): z.infer<typeof Act> | undefined {
  try {
    return Act.parse(parseCanonicalJson(text));
  } catch {
    return undefined;
  }
}

function saysSame(
  { what, units, by, at, reason, step }: StateNote,
  { act, ...said }: z.infer<typeof Act>,
  { lot, forCase }: Pick<Enclosure, 'lot' | 'forCase'>,
): boolean {
  if (act.type !== what || act.lot !== lot || act.step !== step) return false;
  if (said.at !== at || said.actor !== by || (said.reason ?? '') !== reason) return false;
  // A copy for one case tells of its own implants alone; the units of changed verdicts follow from the lot file.
  const own = act.units ?? units;
  return units.every((unit) => own.includes(unit)) && (forCase !== null || own.length === units.length);
}
