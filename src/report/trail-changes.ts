import type { Statement } from '../dossier/statement.js';
import type { LedgerEntry } from '../ledger/entry.js';
import type { Event } from '../ledger/event.js';
import { TRAIL_ACTS, type TrailChange } from '../ledger/trail.js';
import { ABSENT } from './phrases/absent.js';
import { decisionOutcomeText } from './phrases/codes.js';
import { releaseStepText } from './phrases/release-steps.js';
import { searchedActText, TRAIL_VALUES } from './phrases/trail-acts.js';

/** An act to search for: the type of the entry, and of an event its own type. */
export interface ActChoice {
  readonly act: string;
  readonly words: string;
}

/** Every act that the trail can be searched for, in the order of the words. */
export const actChoices = (): readonly ActChoice[] =>
  TRAIL_ACTS.map((act) => ({ act, words: searchedActText(act) })).sort((a, b) => a.words.localeCompare(b.words, 'en'));

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
    found.set(path, value === null ? ABSENT.none : String(value));
    return found;
  }
  for (const [name, inner] of Object.entries(value)) {
    const step = Array.isArray(value) ? `[${name}]` : path === '' ? name : `.${name}`;
    leavesOf(inner, `${path}${step}`, found);
  }
  return found;
}

/** What nobody may read in a trail: what proves an identity, and what only programs read. */
const WITHHELD = new Set([
  'type',
  'lock',
  'wrapped',
  'tokenSha256',
  'invitation',
  'publicPem',
  'link',
  'linkSignature',
  'acceptance',
  'endorsement',
  'signature',
]);

/** What an event says. Nothing of a password is part of it. */
export function eventChanges(event: Event): TrailChange[] {
  const told = Object.fromEntries(Object.entries(event).filter(([name]) => !WITHHELD.has(name)));
  return bodyChanges(undefined, told).filter(({ what }) => !what.endsWith('.signature'));
}

/** What a person put their name to. */
export function statementChanges({ subjects, units, step, outcome, person, beside }: Statement): TrailChange[] {
  const { name, role, deputyFor, key, recoveredBy } = person;
  return [
    change(TRAIL_VALUES.by, null, TRAIL_VALUES.byPerson(name, role, deputyFor)),
    change(TRAIL_VALUES.keyOfPerson, null, recoveredBy ? TRAIL_VALUES.keyRecovered(key, recoveredBy) : key),
    ...(units.length === 0 ? [] : [change(TRAIL_VALUES.implants, null, units.join(', '))]),
    ...(step === null ? [] : [change(TRAIL_VALUES.step, null, releaseStepText(step))]),
    ...(outcome === null ? [] : [change(TRAIL_VALUES.outcome, null, decisionOutcomeText(outcome))]),
    ...subjects.map(({ kind, key, revision, digest }) =>
      change(TRAIL_VALUES.sha256Of(kind, key, revision), null, digest),
    ),
    ...beside.map(({ kind, digest }) => change(TRAIL_VALUES.beside(kind), null, digest)),
  ];
}

/** What the entry itself says, for acts that store nothing which people read field by field. */
export const entryChanges = (entry: LedgerEntry): TrailChange[] =>
  valuesOf(entry).map(([what, value]) => change(what, null, value));

function valuesOf(entry: LedgerEntry): readonly (readonly [what: string, value: string])[] {
  switch (entry.type) {
    case 'folder-created':
      return [[TRAIL_VALUES.program, entry.program]];
    case 'evidence-received':
      return [[TRAIL_VALUES.file, TRAIL_VALUES.fileOf(entry.fileName, entry.bytes)]];
    case 'results-recorded':
      return [[TRAIL_VALUES.values, TRAIL_VALUES.valuesOf(entry.rows, entry.file, entry.corrections)]];
    case 'log-scanned':
      return [
        [TRAIL_VALUES.findings, String(entry.findings)],
        [TRAIL_VALUES.scanner, entry.scanner],
      ];
    case 'dossier-frozen':
      return [[TRAIL_VALUES.sha256, entry.digest]];
    case 'assessment-made':
      return [
        [TRAIL_VALUES.lotFile, entry.dossier],
        [TRAIL_VALUES.program, entry.program],
      ];
    case 'lot-summarised':
      return [[TRAIL_VALUES.rows, String(entry.rows)]];
    case 'capability-stated':
      return [[TRAIL_VALUES.sha256, entry.digest]];
    case 'record-issued':
      return [
        [TRAIL_VALUES.lot, entry.lot],
        [TRAIL_VALUES.sha256OfFile, entry.fileSha256],
      ];
    default:
      return [];
  }
}
