import type { LastHeadFault } from '../../ledger/checkpoint.js';
import type { KeyFault } from '../../ledger/key-chain.js';
import type { PersonKeyFault } from '../../ledger/person-keys.js';
import type { ActFault } from '../../ledger/signed-acts.js';
import type { SignedFault } from '../../ledger/signed-statement.js';
import type { FileFault, SchemaFault, StoredFault } from '../../ledger/stored-fault.js';
import type { TimeFault } from '../../ledger/time-fault.js';
import { type CodedBy, codedText } from './coded.js';
import { eventActText } from './trail-acts.js';

/** Why what a person signed does not hold. */
export const STATEMENT_FAULTS: Readonly<Record<SignedFault, string>> = {
  'another digest': 'the statement is not the one whose digest it carries',
  'another installation': 'it names another installation key',
  'not its signature': 'its signature does not belong to it',
  'unknown key': 'it names a key that is none of this folder',
  'unknown key of a person': 'it names a key of a person for which nobody vouches',
  'key of somebody else': 'it names the key of somebody else',
  'another course of the key': 'it does not say as it is whether the key of the person was recovered',
  'not while the key was in use': 'the key of the person was not in use then',
  'not the signature of the person': 'the person did not sign it: the signature of their key does not belong to it',
  'role not held': 'the person did not hold the role that it names',
};

/** Why an act of a person does not hold: they signed it with the key that they had then, or it is not theirs. */
export const ACT_FAULTS: Readonly<Record<ActFault, string>> = {
  'not signed': 'nobody signed it',
  'not signed by two': 'the two people that it names did not sign it with their keys',
  'unknown key of a person': STATEMENT_FAULTS['unknown key of a person'],
  'key of somebody else': STATEMENT_FAULTS['key of somebody else'],
  'not while the key was in use': STATEMENT_FAULTS['not while the key was in use'],
  'not the signature of the person': STATEMENT_FAULTS['not the signature of the person'],
  'not in a role of the act': 'who signed it held no role then that may do so',
  'not by an administrator': 'who signed it was no administrator then',
  'not of this place': 'what it accepts does not end right before it: it was signed for another place',
};

/** Why a key is not that of a person, whatever the database says. */
export const PERSON_KEY_FAULTS: Readonly<Record<PersonKeyFault, string>> = {
  'another fingerprint': 'the key is not the one of its fingerprint',
  'not accepted': 'it did not sign that it is the key of this person',
  'not the first one': 'the installation alone vouches for it, and only the first administrator begins so',
  'not after the key before': 'it does not follow the key that the person had before',
  'not by its link': 'it was not made with the one-time link that it names',
  'not endorsed': 'nobody whose key counts vouches for it',
  'endorsed by one alone': 'it takes the place of another key, and one person alone vouches for it',
  'not endorsed by an administrator': 'whoever vouches for it was no administrator when the link was made',
  'not by the installation': 'the installation did not sign it',
};

/** Why nobody can have signed or acted at the time that is said. */
export function timeFaultText(fault: TimeFault): string {
  switch (fault.code) {
    case 'before an earlier entry':
      return `it says that it was done at ${fault.at}, and an entry before it was made at ${fault.latest}`;
    case 'before a stamped head':
      return `it says that it was done at ${fault.at}, and was not there yet when ${fault.stamped.by} stamped the ${fault.stamped.size} entries before it at ${fault.stamped.at}`;
    case 'after its own entry':
      return `it says that it was done at ${fault.at}, and was recorded before, at ${fault.entry}`;
  }
}

/** Why the head that was signed last does not belong to the audit trail that is there. */
function lastHeadText(fault: LastHeadFault): string {
  switch (fault.what) {
    case 'is missing':
      return 'the signed head of the audit trail is missing';
    case 'not readable':
      return fault.error;
    case 'signed by no key of this folder':
      return 'no key of this folder signed the head of the audit trail';
    case 'another size':
      return `the head that was signed last covers ${fault.signed} entries, and there are ${fault.found}`;
    case 'another audit trail':
      return 'the audit trail is not the one whose head was signed last';
  }
}

/** Why a key is not one of this installation, whatever the database says. */
export const KEY_FAULTS: Readonly<Record<KeyFault, string>> = {
  'another fingerprint': 'the key is not the one of its fingerprint',
  'not the first key': 'it is not the first key, which is kept outside the database',
  'not after the key before': 'it does not follow the key before it',
  'not accepted': 'it did not sign that it follows the key before it',
  'not endorsed': 'the key before it did not vouch for it',
  'loss not known outside': 'it stands for a lost key, and the anchor outside the database knows nothing of that',
};

type WordsOf<Fault extends { readonly code: string; readonly facts?: object | undefined }> = {
  readonly [One in Fault as One['code']]: (facts: Exclude<One['facts'], undefined>) => string;
};

export const FILE_FAULTS: WordsOf<FileFault> = {
  'is missing': () => 'is missing',
  'was altered': () => 'was altered',
  'cannot be read': ({ error }) => `cannot be read (${error})`,
};

export const fileFaultText = (fault: FileFault): string => coded(FILE_FAULTS, fault);

function schemaFaultText(fault: SchemaFault): string {
  switch (fault.what) {
    case 'is missing':
      return `${fault.name} is missing`;
    case 'was changed':
      return `${fault.name} was changed`;
    case 'is not one of ours':
      return `${fault.name} is not one of ours`;
    case 'did not run':
      return `migration ${fault.name} did not run`;
    case 'history':
      return fault.message;
  }
}

/** What the audit of a database finds, by code. */
export const STORED_FAULTS: WordsOf<StoredFault> = {
  'entry missing': ({ seq, next }) => `entry ${seq} is missing: the next one is ${next}`,
  'text changed': () => 'its text is not the text that was hashed',
  'text not JSON': () => 'its text is not JSON',
  'text not canonical': () => 'its text is not in canonical form',
  'no known entry': ({ message }) => `its text is not a known entry: ${message}`,
  'another number': ({ seq }) => `it says that it is entry ${seq}`,

  'rows gone': ({ table, rows }) => `what was recorded in ${table} is gone (rows: ${rows})`,
  'rows not recorded': ({ table }) => `it has rows in ${table}, and none were recorded there`,
  'another count of rows': ({ table, found, recorded }) =>
    `there are ${found} rows in ${table}, and ${recorded} were recorded`,
  'another value': ({ table, column, found, recorded }) =>
    `its ${column} in ${table} is "${found}", and "${recorded}" was recorded`,
  'row changed': ({ table, rows }) => `${rows === 1 ? 'its row' : 'a row'} in ${table} is not as it was recorded`,

  'head of another trail': ({ head, own }) =>
    `the head is of another audit trail, or another was put in its place: it bears the name ${head}, and this audit trail is ${own ?? 'without a name'}`,
  'entries cut off': ({ covers, size }) => `entries were cut off: the head covers ${covers}, and there are ${size}`,
  'covered entries changed': ({ size }) =>
    `what the head covers was changed: the first ${size} entries are not those it was made of`,
  'only grown': ({ from, to, key }) =>
    `the audit trail has only grown since: from ${from} to ${to} entries (${key === null ? 'the key that signed it is not known here' : `signed by the key ${key.slice(0, 12)}`})`,

  'told by the engine': ({ message }) => message,
  'not readable': ({ message }) => `cannot be read: ${message}`,
  'row not readable': ({ message }) => `it cannot be read: ${message}`,
  'parent row gone': ({ table }) => `it names a row of ${table} that is not there`,
  'other schema': ({ faults }) => faults.map(schemaFaultText).join(', '),
  'row of no entry': ({ seq }) => `it names entry ${seq} of the audit trail, which does not record it`,
  'no statement': () => 'it is no signed statement',
  'statement does not hold': ({ person, fault }) => `statement of ${person}: ${STATEMENT_FAULTS[fault]}`,
  'time does not hold': (fault) => timeFaultText(fault),
  'passkey not by its person': () =>
    'it makes a passkey or takes one away, and the person did not sign that with a key of theirs: it does not count',
  'act does not hold': ({ by, event, fault }) => `${eventActText(event)}, by ${by}: ${ACT_FAULTS[fault]}`,
  'key of a person not endorsed': ({ person, fault }) => `key of ${person}: ${PERSON_KEY_FAULTS[fault]}`,
  'last head': (fault) => lastHeadText(fault),
  'node of no entries': () => 'no entries complete this node',
  'another hash of a node': () => 'the stored hash is not the one that the entries give',
  'entries missing at the end': ({ left }) => `entries are missing at the end: there were ${left}`,
  'kept beyond the end': () => 'what is kept of lots is said to take in entries that are not there',
  'entry added from outside': () => 'it was added from outside: the program left fewer entries',
  'key not of the chain': ({ fault }) => KEY_FAULTS[fault],
  'anchor not read': ({ message }) => message,
  'anchor signed by no key': () => 'the head that it holds is signed by no key of this folder',
  'anchored head': ({ found }) => storedFaultText(found),
  'position missing': ({ position }) => `position ${position} is missing before it`,
  'not chained': () => 'it is not chained with the row before it',
  'another digest of a row': () => 'its digest is not the one of what it says',
  'in place of another': ({ position }) =>
    `it stands in place of position ${position}, which is not the last row of its lot, build and context`,
  'other sums': () => 'the sums that are kept of it are not those of its rows',
  'names no kept bytes': () => 'the file that it was read from is none of the evidence',
  'file of the entry': ({ fileName, fault }) => `${fileName} ${fileFaultText(fault)}`,
};

export const storedFaultText = (fault: StoredFault): string => coded(STORED_FAULTS, fault);

function coded<Table extends object>(
  table: Table,
  { code, facts }: { readonly code: keyof Table; readonly facts?: object | undefined },
): string {
  return (table[code] as (facts: unknown) => string)(facts);
}

/** What the look at everything that a data folder holds finds beside that. */
export const FOLDER_FAULTS = {
  'not looked at': ({ message }: { message: string }) => `cannot be looked at: ${message}`,
  'place gone': ({ found }: { found: string | null }) =>
    `is the second place of the anchor by the audit trail, and the folder names ${found ?? 'none'}: somebody took it out of folder.json; name it again with keys anchor --also`,
  'not stamped': ({ message }: { message: string }) => `gave no time stamp: ${message}`,
  'check not noted': ({ why }: { why: 'database damaged' | 'folder not opened' | { message: string } }) =>
    `was not noted: ${typeof why === 'object' ? why.message : NOT_NOTED[why]}`,
  'folder not opened': ({ message }: { message: string }) =>
    `the folder cannot be opened: ${message}; records were not looked at`,
  'tombstone of nobody': () => 'has a tombstone, but nobody redacted it',
  /** @param fileName under which it was received; null for a file that has no other name. */
  'kept file': ({ fault, fileName }: { fault: FileFault; fileName: string | null }) =>
    `${fileFaultText(fault)}${fileName === null ? '' : ` (${fileName})`}`,
  'kept otherwise': () => 'is kept for lists otherwise than it follows from what is recorded of the lot',
  'trail not looked at': ({ message }: { message: string }) => message,
  'trail fault': ({ fault }: { fault: StoredFault }) => storedFaultText(fault),
};

const NOT_NOTED = {
  'database damaged': 'the database is damaged',
  'folder not opened': 'the folder cannot be opened',
};

export type FolderFault = CodedBy<typeof FOLDER_FAULTS>;

export const folderFaultText = (fault: FolderFault): string => codedText(FOLDER_FAULTS, fault);
