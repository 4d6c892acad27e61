import { type EntryType, isKnownType, type LedgerEntry } from '../../ledger/entry.js';
import type { Event } from '../../ledger/event.js';
import { meaningText, roleText } from './codes.js';
import { entryText, kindText } from './kinds.js';

/** What each type of entry of the audit trail says was done, as it is searched for. */
export const ENTRY_ACTS: Readonly<Record<EntryType, string>> = {
  'folder-created': 'data folder made',
  'revision-recorded': 'document recorded or changed',
  'evidence-received': 'file received',
  'results-recorded': 'results recorded or corrected',
  'log-scanned': 'log scanned',
  'event-recorded': 'event',
  'statement-signed': 'signed',
  'dossier-frozen': 'lot file frozen',
  'assessment-made': 'assessed',
  'lot-summarised': 'summarised for trends',
  'capability-stated': 'capability stated',
  'record-issued': 'record issued',
};

/** The same of events. */
export const EVENT_ACTS: Readonly<Record<Event['type'], string>> = {
  'key-made': 'key made',
  'account-made': 'account made',
  'account-closed': 'account closed',
  'invitation-made': 'invitation made',
  'administrator-link-made': 'administrator link made',
  'password-set': 'password set',
  'person-key-made': 'key of a person made',
  'passkey-made': 'passkey made',
  'passkey-used': 'passkey used',
  'passkey-ended': 'passkey taken away',
  'intake-token-made': 'token of a program made',
  'intake-token-ended': 'token of a program ended',
  'role-given': 'role given',
  'role-taken': 'role taken',
  'deputy-named': 'deputy named',
  'deputy-ended': 'deputy ended',
  'elsewhere-linked': 'sign-in elsewhere linked',
  'elsewhere-unlinked': 'sign-in elsewhere unlinked',
  exported: 'exported',
  'head-witnessed': 'head given to a witness',
  'reads-noted': 'readings noted',
  'read-at-machine': 'read at the machine',
  'second-place-named': 'second place of the anchor named',
  'act-refused': 'act refused',
  'hold-placed': 'hold placed',
  'release-conditions': 'conditions of a release held',
  'hold-lifted': 'hold lifted',
  'document-withdrawn': 'document withdrawn',
  'release-revoked': 'release revoked',
  'verdicts-changed': 'verdicts changed',
  'verdict-changes-seen': 'verdict changes seen',
  'archive-made': 'way to raw rows made',
  'backup-made': 'backup made',
  'folder-restored': 'folder restored',
  'anchor-renewed': 'anchor renewed',
  'integrity-checked': 'integrity checked',
  'evidence-redacted': 'evidence redacted',
  'legal-hold-placed': 'legal hold placed',
  'legal-hold-lifted': 'legal hold lifted',
  'self-check-made': 'self check made',
};

/** Acts of one entry that say more than its type. */
export const ENTRY_ACT = {
  recorded: 'recorded',
  changed: 'changed',
  signed: (meaning: string) => `signed: ${meaningText(meaning)}`,
  ofLaterVersion: ({ type }: { readonly type: string }) => `${type.replaceAll('-', ' ')} (of a later version)`,
};

/** What an event is called; one of a later version by its type. */
export const eventActText = (type: string): string =>
  Object.hasOwn(EVENT_ACTS, type) ? EVENT_ACTS[type as Event['type']] : type.replaceAll('-', ' ');

/** What an entry says was done. */
export function actText(entry: LedgerEntry): string {
  switch (entry.type) {
    case 'revision-recorded':
      return entry.revision === 1 ? ENTRY_ACT.recorded : ENTRY_ACT.changed;
    case 'event-recorded':
      return eventActText(entry.event);
    case 'statement-signed':
      return ENTRY_ACT.signed(entry.meaning);
    default:
      return isKnownType(entry) ? ENTRY_ACTS[entry.type] : ENTRY_ACT.ofLaterVersion(entry);
  }
}

/** An act that the trail is searched for: the type of an entry, or `event:` and that of an event. */
export const searchedActText = (act: string): string =>
  act.startsWith('event:') ? eventActText(act.slice('event:'.length)) : ENTRY_ACTS[act as EntryType];

/** What stands beside the values of a line of the audit trail. */
export const TRAIL_VALUES = {
  keyOfPerson: 'key of the person',
  doesNotHold: 'DOES NOT HOLD',
  keyRecovered: (key: string, by: readonly string[]) =>
    `${key}, recovered: ${by.join(' and ') || 'nobody else'} vouched`,
  program: 'program',
  file: 'file',
  fileOf: (name: string, bytes: number) => `${name}, ${bytes} bytes`,
  values: 'values',
  valuesOf: (rows: number, file: string, corrections: number) =>
    `${rows} from ${file}, ${corrections} of them corrections`,
  findings: 'findings',
  scanner: 'scanner',
  sha256: 'SHA-256',
  lotFile: 'lot file',
  rows: 'rows',
  lot: 'lot',
  sha256OfFile: 'SHA-256 of the file',
  by: 'by',
  byPerson: (name: string, role: string, deputyFor: string | null) =>
    `${name}, ${roleText(role)}${deputyFor === null ? '' : ` for ${deputyFor}`}`,
  implants: 'implants',
  step: 'released for',
  outcome: 'outcome',
  sha256Of: (kind: string, key: string, revision: number | null) => `SHA-256 of ${entryText(kind, key, revision)}`,
  beside: (kind: string) => `beside it: ${kindText(kind)}`,
  lost: 'what was recorded',
  isLost: 'is gone from the database',
};
