import type { Statement } from '../dossier/statement.js';
import { ENTRY_WORDS, type LedgerEntry, valuesOfEntry } from './entry.js';
import { Event, eventWords } from './event.js';
import type { Subject } from './subject.js';

/** One value that an act set, with the one that stood before it. */
export interface TrailChange {
  readonly what: string;
  readonly before: string | null;
  readonly after: string | null;
  /** Why this value was changed, where it has a reason of its own. */
  readonly reason: string | null;
}

/** One line of the audit trail as people read it. */
export interface TrailLine {
  readonly seq: number;
  readonly at: string;
  readonly offset: string;
  readonly actor: string;
  readonly act: string;
  readonly subject: Subject;
  readonly reason: string | null;
  readonly changes: readonly TrailChange[];
}

/** What the trail is searched for. Nothing stands for all. */
export interface TrailFilter {
  /** Key of a thing, or the beginning of a SHA-256. */
  readonly thing?: string | undefined;
  /** Who acted, or whose account it was. */
  readonly person?: string | undefined;
  readonly act?: string | undefined;
  /** First and last day, UTC. */
  readonly from?: string | undefined;
  readonly to?: string | undefined;
}

/** An act to search for: the type of the entry, and of an event its own type. */
export interface ActChoice {
  readonly act: string;
  readonly words: string;
}

/** Every act that the trail can be searched for, in the order of the words. */
export const ACT_CHOICES: readonly ActChoice[] = [
  ...[...ENTRY_WORDS].filter(([type]) => type !== 'event-recorded').map(([act, words]) => ({ act, words })),
  ...Event.options.map((option) => ({
    act: `event:${option.shape.type.value}`,
    words: eventWords(option.shape.type.value),
  })),
].sort((a, b) => a.words.localeCompare(b.words, 'en'));

const change = (what: string, before: string | null, after: string | null): TrailChange => ({
  what,
  before,
  after,
  reason: null,
});

/** Field by field, what differs between two bodies of a thing. `before` is undefined for its first. */
export function bodyChanges(before: unknown, after: unknown): TrailChange[] {
  const [old, now] = [leavesOf(before), leavesOf(after)];
  const paths = new Set([...old.keys(), ...now.keys()]);
  return [...paths]
    .filter((path) => old.get(path) !== now.get(path))
    .map((path) => change(path, old.get(path) ?? null, now.get(path) ?? null));
}

/** The values of a body by their place: `zones[2].layers.from`. */
function leavesOf(value: unknown, path = '', found = new Map<string, string>()): Map<string, string> {
  if (value === undefined) return found;
  if (value === null || typeof value !== 'object') {
    found.set(path, value === null ? 'none' : String(value));
    return found;
  }
  for (const [name, inner] of Object.entries(value)) {
    const step = Array.isArray(value) ? `[${name}]` : path === '' ? name : `.${name}`;
    leavesOf(inner, `${path}${step}`, found);
  }
  return found;
}

/** What nobody may read in a trail: what proves an identity, and what only programs read. */
const WITHHELD = new Set(['type', 'hash', 'tokenSha256', 'invitation', 'publicPem', 'signature']);

/** What an event says. A password or its hash is no part of it. */
export function eventChanges(event: Event): TrailChange[] {
  const told = Object.fromEntries(Object.entries(event).filter(([name]) => !WITHHELD.has(name)));
  return bodyChanges(undefined, told);
}

/** What a person put their name to. */
export function statementChanges({ subjects, units, outcome, person, beside }: Statement): TrailChange[] {
  const { name, role, deputyFor } = person;
  return [
    change('by', null, `${name}, ${role}${deputyFor === null ? '' : ` for ${deputyFor}`}`),
    ...(units.length === 0 ? [] : [change('implants', null, units.join(', '))]),
    ...(outcome === null ? [] : [change('outcome', null, outcome)]),
    ...subjects.map(({ kind, key, revision, digest }) => {
      const what = `${kind} ${key}${revision === null ? '' : `, revision ${revision}`}`;
      return change(`SHA-256 of ${what}`, null, digest);
    }),
    ...beside.map(({ kind, digest }) => change(`beside it: ${kind}`, null, digest)),
  ];
}

/** What the entry itself says, for acts that store nothing which people read field by field. */
export const entryChanges = (entry: LedgerEntry): TrailChange[] =>
  valuesOfEntry(entry).map(([what, value]) => change(what, null, value));
