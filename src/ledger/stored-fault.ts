import type { LastHeadFault } from './checkpoint.js';
import type { Event } from './event.js';
import type { KeyFault } from './key-chain.js';
import type { PersonKeyFault } from './person-keys.js';
import type { ActFault } from './signed-acts.js';
import type { SignedFault } from './signed-statement.js';
import type { TimeFault } from './time-fault.js';

/** What is wrong with a file that must have a known SHA-256. */
export type FileFault =
  | { readonly code: 'is missing'; readonly facts?: undefined }
  | { readonly code: 'was altered'; readonly facts?: undefined }
  | { readonly code: 'cannot be read'; readonly facts: { readonly error: string } };

/** Of an entry of the audit trail by itself. */
export type EntryFault = Coded<{
  'entry missing': { readonly seq: number; readonly next: number };
  'text changed': undefined;
  'text not JSON': undefined;
  'text not canonical': undefined;
  'no known entry': { readonly message: string };
  'another number': { readonly seq: number };
}>;

/** Of the rows that an entry recorded. */
export type RowsFault = Coded<{
  'rows gone': { readonly table: string; readonly rows: number };
  'rows not recorded': { readonly table: string };
  'another count of rows': { readonly table: string; readonly found: number; readonly recorded: number };
  'another value': {
    readonly table: string;
    readonly column: string;
    readonly found: string;
    readonly recorded: string;
  };
  'row changed': { readonly table: string; readonly rows: number };
}>;

/** What a head that was kept outside tells of the trail that is here. Only the last of them is none that is wrong. */
export type KeptHeadFinding = Coded<{
  'head of another trail': { readonly head: string; readonly own: string | null };
  'entries cut off': { readonly covers: number; readonly size: number };
  'covered entries changed': { readonly size: number };
  'only grown': { readonly from: number; readonly to: number; readonly key: string | null };
}>;

/** Of the file of the database, its rows one by one, its tables and its guards. */
export type DatabaseFault = Coded<{
  /** In the words of the engine. */
  'told by the engine': { readonly message: string };
  'not readable': { readonly message: string };
  'row not readable': { readonly message: string };
  'parent row gone': { readonly table: string };
  'other schema': { readonly faults: readonly SchemaFault[] };
  'row of no entry': { readonly seq: number };
  'no statement': undefined;
  'statement does not hold': { readonly person: string; readonly fault: SignedFault };
  'time does not hold': TimeFault;
  'passkey not by its person': undefined;
  'act does not hold': { readonly by: string; readonly event: Event['type']; readonly fault: ActFault };
  'key of a person not endorsed': { readonly person: string; readonly fault: PersonKeyFault };
  /** As an error says it to whoever would append to such a trail. */
  'last head': LastHeadFault;
  'node of no entries': undefined;
  'another hash of a node': undefined;
  'entries missing at the end': { readonly left: number };
  'entry added from outside': undefined;
  'kept beyond the end': undefined;
  'names no kept bytes': undefined;
  'file of the entry': { readonly fileName: string; readonly fault: FileFault };
}>;

/** Of what is kept outside the database. */
export type AnchorFault = Coded<{
  'key not of the chain': { readonly fault: KeyFault };
  /** In the words of an error. */
  'anchor not read': { readonly message: string };
  'anchor signed by no key': undefined;
  'anchored head': { readonly found: KeptHeadFinding };
}>;

/** Of the history of a family, row by row. */
export type HistoryFault = Coded<{
  'position missing': { readonly position: number };
  'not chained': undefined;
  'another digest of a row': undefined;
  'in place of another': { readonly position: number };
  'other sums': undefined;
}>;

/** A guard, table or index that is not as the program makes it; or a migration that did not run. */
export type SchemaFault =
  | { readonly what: 'is missing' | 'was changed' | 'is not one of ours' | 'did not run'; readonly name: string }
  /** What an error of the program says of the history of migrations. */
  | { readonly what: 'history'; readonly message: string };

/** Whatever the audit of a database can find wrong. */
export type StoredFault = EntryFault | RowsFault | KeptHeadFinding | DatabaseFault | AnchorFault | HistoryFault;

type Coded<T extends Record<string, object | undefined>> = {
  [Code in keyof T]: T[Code] extends undefined
    ? { readonly code: Code; readonly facts?: undefined }
    : { readonly code: Code; readonly facts: T[Code] };
}[keyof T];
