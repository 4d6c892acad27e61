import { z } from 'zod';
import { parseCanonicalJson } from '../dossier/canonical.js';
import type { PersonKeys } from '../ledger/person-keys.js';
import { type ActFault, faultOfSignatures } from '../ledger/signed-acts.js';
import type { Enclosure, StateNote } from './enclosure.js';

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

export type ToldActFault = ActFault | 'another act';

export interface ToldActs {
  readonly count: number;
  readonly faults: readonly { readonly note: StateNote; readonly fault: ToldActFault }[];
}

/**
 * Holds, revocations and what people said of changed verdicts: each must be signed by the person whom the record names, and
 * the record must tell of it what was signed.
 * @param people keys by moments, as the record carries them.
 */
export function toldActs(record: Pick<Enclosure, 'states' | 'lot' | 'forCase'>, people: PersonKeys): ToldActs {
  const acts = record.states.filter(isOfPerson);
  const faults = acts.flatMap((note) => {
    const fault = faultOf(note, record, people);
    return fault === undefined ? [] : [{ note, fault }];
  });
  return { count: acts.length, faults };
}

function faultOf(
  note: StateNote,
  record: Pick<Enclosure, 'lot' | 'forCase'>,
  people: PersonKeys,
): ToldActFault | undefined {
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
