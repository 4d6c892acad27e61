import type { StudyNote } from '../../assessment/family/study-result.js';
import { namesText } from '../../dossier/statement.js';
import type { KeyFault } from '../../ledger/key-chain.js';
import type { PersonKeyFault } from '../../ledger/person-keys.js';
import type { ActFault } from '../../ledger/signed-acts.js';
import type { SignedFault } from '../../ledger/signed-statement.js';
import type { TimeFault } from '../../ledger/time-fault.js';
import type { Differences, DifferingPart } from '../../pdf/reading/differing-parts.js';
import type { NoPdf, PdfDamage } from '../../pdf/reading/open-pdf.js';
import type { WhyUnreadable } from '../../pdf/reading/unreadable.js';
import { ABSENT } from './absent.js';
import { type CodedBy, codedText } from './coded.js';
import { meaningText } from './codes.js';
import { counted } from './counted.js';
import { entryText, kindText } from './kinds.js';
import { ACT_FAULTS, KEY_FAULTS, PERSON_KEY_FAULTS, STATEMENT_FAULTS, timeFaultText } from './stored-faults.js';
import { studyNoteText } from './study-notes.js';
import { eventActText } from './trail-acts.js';

/** What `verify` looks at, in words; `of` names which one where there are several. */
export const VERIFY_STEPS = {
  file: () => 'file',
  enclosure: () => 'enclosure',
  seal: () => 'seal',
  signature: (of: string) => `signature "${of}"`,
  attachments: () => 'attachments',
  'lot file': () => 'lot file',
  'public keys': () => 'public keys',
  signatures: () => 'signatures',
  'audit trail': () => 'audit trail',
  'first page': () => 'first page',
  statement: () => 'statement',
  design: () => 'design',
  assessment: () => 'assessment',
  pages: () => 'pages',
  evidence: () => 'evidence',
  log: (of: string) => `evidence: log of ${of}`,
  shape: (of: string) => `evidence: shape of ${of}`,
  key: () => 'key',
  people: () => 'keys of people',
  'earlier records': () => 'earlier records',
  witness: () => 'witness',
  anchor: () => 'anchor',
} satisfies Record<string, (of: string) => string>;

export type VerifyStepCode = keyof typeof VERIFY_STEPS;

/** One step of a verification. A log and a foreign signature have a name of their own. */
export interface NamedStep {
  readonly step: VerifyStepCode;
  readonly of?: string;
}

export const stepText = ({ step, of = '' }: NamedStep): string => (VERIFY_STEPS[step] as (of: string) => string)(of);

/** Whoever made a signature of the file, as its certificate names them. */
interface Signer {
  readonly name: string;
  /** Lines of the issuer; null for a certificate that signed itself. */
  readonly issuer: string | null;
}

const signerText = ({ name, issuer }: Signer): string =>
  `"${name}"${issuer === null ? '' : `, issued by ${issuer.replaceAll('\n', ', ')}`}`;

/** @param at ISO 8601, UTC; null where the signature states no time. */
const sealedAtText = (at: string | null): string =>
  at === null ? 'at no stated time' : `${at.slice(0, 19).replace('T', ' ')} UTC`;

/** A place in two JSON values in which they differ: the texts there, null where there is none. */
interface Difference {
  readonly place: string;
  readonly attached: string | null;
  readonly again: string | null;
}

export const differenceText = ({ place, attached, again }: Difference): string =>
  `${place}: ${jsonText(attached)} attached, ${jsonText(again)} computed again`;

function jsonText(text: string | null): string {
  if (text === null) return ABSENT.nothing;
  return text.length > 120 ? `${text.slice(0, 117)}…` : text;
}

const DIFFERING_PARTS: Readonly<Record<DifferingPart['part'], (of: string) => string>> = {
  page: (of) => `page ${of}`,
  'page missing': (of) => `page ${of} is missing`,
  'page added': (of) => `page ${of} was added`,
  attachment: (of) => `attachment ${of}`,
  catalogue: () => 'the catalogue',
  properties: () => 'the properties',
  metadata: () => 'the metadata',
  structure: () => 'the structure',
  form: () => 'the form',
  fonts: () => 'the fonts',
  signature: () => 'a signature',
  bookmarks: () => 'the bookmarks',
};

/** @param found null when the file is too damaged to tell. */
function differencesText(found: Differences | null): string {
  if (found === null) return 'what cannot be told, since the file is damaged';
  const { parts, pages } = found;
  if (parts.length === 0) return 'nothing that is shown or carried';
  const names = parts.map((part) => DIFFERING_PARTS[part.part](part.of ?? ''));
  const count = pages.before === pages.after ? '' : `${pages.after} pages where ${pages.before} were: `;
  return `${count}${names.sort((a, b) => a.localeCompare(b, 'en', { numeric: true })).join(', ')}`;
}

function damageText(damage: PdfDamage): string {
  switch (damage.code) {
    case 'damaged':
      return 'damaged: its objects do not stand where its tables say';
    case 'cut':
      return `the file was cut: an update of it begins at byte ${damage.at} and has no end`;
    case 'added':
      return `${damage.bytes} bytes were added behind the end of the file`;
  }
}

const LOOKS_LIKE = {
  picture: 'it is a picture',
  ZIP: 'it is a ZIP file: unpack it and verify the PDF record in it',
  text: 'it is a text',
  unknown: 'it is no PDF',
};

/** A PDF of somebody else, with the PDFs that it carries. */
interface AnotherPdf {
  readonly code: 'another PDF';
  readonly inside: readonly string[];
}

function whyNotText(why: NoPdf | WhyUnreadable | AnotherPdf): string {
  switch (why.code) {
    case 'folder':
      return 'it is a folder: name the PDF record in it';
    case 'broken link':
      return 'it is a link that leads nowhere: name the file itself';
    case 'no file':
      return 'it is neither a file nor a folder: name a PDF record';
    case 'empty':
      return 'it is empty: ask for the file again';
    case 'too large':
      return `it has ${why.megabytes} MB, and no record has more than ${why.most}`;
    case 'no PDF':
      return LOOKS_LIKE[why.looksLike];
    case 'another PDF':
      return `it is a PDF, but no record of this program, or one that was printed anew${why.inside.length === 0 ? '' : `; it carries ${why.inside.join(', ')}: take that out and verify it by itself`}`;
    case 'no whole PDF':
      return 'it begins like a PDF, and its parts cannot be read';
    case 'cut':
      return 'the file was cut: it has no end';
    case 'locked':
      return 'it is locked with a password';
    case 'too slow':
      return 'it cannot be read in the time that a record takes';
    case 'too much':
      return 'unpacked it comes to more than a record may';
    case 'attachment unreadable':
      return `its attachment "${why.name}" cannot be read, or is there twice`;
  }
}

/** Numbers of pages; a long list ends in how many more there are. */
function numbersText(numbers: readonly number[]): string {
  const more = numbers.length - 12;
  return `${numbers.slice(0, 12).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}

interface RecordName {
  readonly number: string;
  readonly revision: number;
}

const recordText = ({ number, revision }: RecordName): string => `record ${number} revision ${revision}`;

/** A signature of a person, such as: Quentin Example, released, lot L-1, 2031-05-04T10:00:00Z. */
export interface StatementName {
  readonly name: string;
  readonly meaning: string;
  readonly kind: string;
  readonly keys: readonly string[];
  readonly at: string;
}

const statementText = ({ name, meaning, kind, keys, at }: StatementName): string =>
  `${name}, ${meaningText(meaning)}, ${kindText(kind)} ${namesText([...keys])}, ${at}`;

/** What has to stand in the audit trail under a record. */
export type Unproven =
  | { readonly thing: 'lot file' | 'assessment' | 'capability statement' }
  | { readonly thing: 'signature'; readonly statement: StatementName }
  | { readonly thing: 'certificate'; readonly sha256: string }
  | { readonly thing: 'file' | 'removal'; readonly sha256: string; readonly fileName: string }
  | {
      readonly thing: 'revision' | 'withdrawal';
      readonly kind: string;
      readonly key: string;
      readonly revision: number;
    };

function unprovenText(unproven: Unproven): string {
  switch (unproven.thing) {
    case 'lot file':
      return 'this lot file';
    case 'assessment':
      return 'this assessment';
    case 'capability statement':
      return 'this capability statement';
    case 'signature':
      return `the signature of ${statementText(unproven.statement)}`;
    case 'revision':
      return entryText(unproven.kind, unproven.key, unproven.revision);
    case 'withdrawal':
      return `the withdrawal of ${entryText(unproven.kind, unproven.key, unproven.revision)}`;
    case 'certificate':
      return `the certificate of the seal, ${unproven.sha256}`;
    case 'file':
      return `the receipt of file ${unproven.fileName}, SHA-256 ${unproven.sha256}`;
    case 'removal':
      return `the removal of file ${unproven.fileName}, SHA-256 ${unproven.sha256}`;
  }
}

/** What only a later version knows, the program that a record names as its writer, and this one. */
interface Later {
  readonly later: readonly string[];
  readonly writer: string | null;
  readonly program: string;
}

const MOST_LATER = 3;

function laterText(later: readonly string[]): string {
  const more = later.length - MOST_LATER;
  return `${later.slice(0, MOST_LATER).join('; ')}${more > 0 ? `; and ${more} more` : ''}`;
}

/** Nothing proves who wrote a file that this program cannot read whole: what it says of that is a claim. */
const laterSays = ({ later, writer, program }: Later): string =>
  `it holds what this program, ${program}, does not know: ${laterText(later)}. It claims that ${writer ?? 'a later version'} wrote it: verify the file with that version or a later one`;

/** Whoever sealed a file, and what came to it later. */
interface AfterSeal {
  readonly signer: Signer;
  readonly covers: number;
  readonly added: number;
  readonly differences: Differences | null;
}

const afterSealText = ({ signer, covers, added }: AfterSeal): string =>
  `by ${signerText(signer)}. It covers ${covers} bytes; ${added} bytes were added after it`;
const SEALED_PART = (covers: number): string => `The first ${covers} bytes of the file are the record as it was sealed`;

/** What a step finds, by code. What an error of the program says of a file is told as it stands. */
const FINDINGS = {
  'file is whole': ({ pages, attachments }: { pages: number; attachments: number }) =>
    `a whole PDF of ${pages} pages with ${attachments} attachments`,
  'file is damaged': ({ damage }: { damage: PdfDamage }) => damageText(damage),
  'file unreadable': ({ why }: { why: NoPdf | WhyUnreadable }) => `it bears marks of a record, but ${whyNotText(why)}`,
  'no record': ({ why }: { why: NoPdf | WhyUnreadable | AnotherPdf }) => whyNotText(why),
  'told by an error': ({ message }: { message: string }) => message,

  'of a later version': laterSays,
  'earlier of a later version': ({ file, ...later }: Later & { file: string }) =>
    `${file} cannot be compared: ${laterSays(later)}`,
  'not of its writer': ({ later, writer }: Later) =>
    `it was altered: it says that ${writer} wrote it, which does not know what it holds: ${laterText(later)}`,
  'enclosure not read': () => 'not without the enclosure, which only a later version reads',
  'lot file not read': () => 'not without the lot file, which only a later version reads',

  'no enclosure': () => 'the file does not name the enclosure that every record has',
  'enclosure missing': ({ name }: { name: string }) => `${name} is missing`,
  'enclosure altered': ({ name }: { name: string }) =>
    `${name} was altered: its digest is not the one that the file names`,
  'enclosure of unknown form': ({ name }: { name: string }) => `${name} is of a form that this program does not know`,
  'enclosure as named': () => 'its digest is the one that the file names',

  'attachment missing': ({ name }: { name: string }) => `${name} is missing`,
  'attachment altered': ({ name, sha256 }: { name: string; sha256: string }) =>
    `${name} was altered: its SHA-256 is not ${sha256}`,
  'attachment added': ({ name }: { name: string }) => `${name} was added: the enclosure does not name it`,
  'attachment not named': ({ name }: { name: string }) => `${name} is named by nothing`,
  'left out without need': ({ name }: { name: string }) => `${name} is said to be too large to be carried, and is not`,
  'attachments as named': ({ count }: { count: number }) => `${count} of ${count} are those that the enclosure names`,

  'another lot file': ({ name }: { name: string }) => `${name} is not the lot file that the enclosure names`,
  'lot file of unknown form': ({ name }: { name: string }) => `${name} is of a form that this program does not know`,
  'lot file not canonical': ({ name }: { name: string }) => `${name} is not in canonical form`,
  'lot file spoilt': ({ name, kind, key }: { name: string; kind: string; key: string }) =>
    `${name} holds ${kindText(kind)} ${key}, which is not what its digest says`,
  'lot file of another lot': ({ name }: { name: string }) => `${name} is not of the lot that is shown`,
  'lot file whole': () => 'whole, with every part',
  'part spoilt': ({ name, kind, key }: { name: string; kind: string; key: string }) =>
    `${name} has a part with ${kindText(kind)} ${key}, which is not what its digest says`,
  'lot file with parts withheld': ({ cases }: { cases: readonly string[] }) =>
    `parts of ${counted(cases.length, 'other case')} are withheld: ${cases.join(', ')}`,

  'no seal, nothing known': () => 'there is none, and whether there should be one cannot be read',
  'seal removed': ({ certificate }: { certificate: string }) =>
    `it was removed: the enclosure names certificate ${certificate}`,
  'final without seal': () => 'the record calls itself final, and final records are sealed',
  'draft without seal': () => 'a draft carries no seal: unaltered here means that the file agrees with itself',
  'seal cut': ({ covers, left }: { covers: number; left: number }) =>
    `the file was cut, or written anew: the seal covers ${covers} bytes, and ${left} are there`,
  'seal unreadable': () => 'its signature was altered: it cannot be read as one',
  'issued without seal': ({ signer, certificate }: { signer: Signer; certificate: string }) =>
    `the record was issued without a seal; ${signerText(signer)} signed this file, certificate ${certificate}`,
  'foreign certificate': ({ signer, certificate, named }: { signer: Signer; certificate: string; named: string }) =>
    `made with a foreign certificate, ${certificate} of ${signerText(signer)}; the enclosure names ${named}`,
  'sealed content altered': () => 'what it covers was altered after it was made: the digest is another one',
  'seal of another certificate': () => 'its signature was altered: it does not belong to its certificate',
  'seal of unknown way': () => 'it is made in a way that this program does not know',
  'seal with foreign parts': () => 'its signature was altered: it has parts that this program does not write',
  'added after the seal': (found: AfterSeal) =>
    `${afterSealText(found)}, which touch: ${differencesText(found.differences)}. ${SEALED_PART(found.covers)}`,
  'saved after the seal': (found: AfterSeal) =>
    `${afterSealText(found)}, which change nothing that is shown or carried. ${SEALED_PART(found.covers)}`,
  sealed: ({ signer, at, certificate }: { signer: Signer; at: string | null; certificate: string }) =>
    `covers the whole file; by ${signerText(signer)}, ${sealedAtText(at)}; certificate ${certificate}, which the enclosure names. A seal speaks for the file and is no person's signature`,
  'second signature unreadable': () => 'a second signature, which cannot be read',
  'second signature': (found: { signer: Signer; covers: number; holds: boolean; certificate: string }) =>
    `a second signature, which this record does not know: ${signerText(found.signer)} signed the first ${found.covers} bytes; ${found.holds ? 'it holds' : 'it does not hold'}; certificate ${found.certificate}`,

  'key is another one': ({ fingerprint }: { fingerprint: string }) =>
    `the key that is called ${fingerprint} is another one, or none`,
  'nobody signed': () => 'nobody has signed anything that this record shows',
  'key not of the chain': ({ fingerprint, fault }: { fingerprint: string; fault: KeyFault }) =>
    `the key ${fingerprint}: ${KEY_FAULTS[fault]}`,
  'key of a person not endorsed': (found: {
    person: string;
    name: string;
    fingerprint: string;
    fault: PersonKeyFault;
  }) => `the key ${found.fingerprint} of ${found.name} (${found.person}): ${PERSON_KEY_FAULTS[found.fault]}`,
  'signature with unknown key': ({ statement, key }: { statement: StatementName; key: string }) =>
    `${statementText(statement)}: it was signed with key ${key}, which the record does not carry, or for which nothing in it vouches`,
  'signature on another lot': ({ statement, lot }: { statement: StatementName; lot: string }) =>
    `${statementText(statement)}: it speaks of another lot than ${lot}`,
  'demo and real mixed': ({ statement }: { statement: StatementName }) =>
    `${statementText(statement)}: demo and real work are mixed`,
  'signature does not hold': ({ statement, fault }: { statement: StatementName; fault: SignedFault }) =>
    `${statementText(statement)}: ${STATEMENT_FAULTS[fault]}`,
  'course left out': ({ statement }: { statement: StatementName }) =>
    `${statementText(statement)}: what had befallen the lot before is not what the record tells: something was left out, added, or put in another order`,
  'course told otherwise': ({ told, listed }: { told: number; listed: number }) =>
    `it tells ${told} acts and statements on the lot, and lists ${listed}; one of them is not the one that is listed`,
  'act does not hold': (found: { what: string; by: string; at: string; fault: ActFault | 'another act' }) =>
    `${eventActText(found.what)}, by ${found.by}, ${found.at}: ${found.fault === 'another act' ? 'what was signed says something else than the record' : ACT_FAULTS[found.fault]}`,
  /** @param acts holds, revocations and the like. @param earlier how many statements are on an earlier state of the lot. */
  'signatures hold': ({
    count,
    acts,
    earlier,
    first,
  }: {
    count: number;
    acts: number;
    earlier: number;
    first: string;
  }) =>
    `${count} of ${count} belong to what was signed, each by its person and by the installation${acts === 0 ? '' : `; ${acts} of ${acts} holds, revocations and the like by their people`}; the keys of people begin with ${first}${earlier === 0 ? '' : `; ${earlier} of them on an earlier state of this lot`}`,

  'first page not signed': () => 'nobody signed a first page of this lot that the record tells of',
  'first page not carried': () =>
    'made by other rules than those of this program, and the record does not carry the one that was signed',
  'first page altered': ({ sha256 }: { sha256: string }) =>
    `the record carries a first page that is not the one with the digest ${sha256}`,
  'another first page': ({ statement }: { statement: StatementName }) =>
    `${statementText(statement)}: it was signed on another first page than the lot file comes to`,
  /** @param again how many of them are on this very state of the lot. @param missing of how many nothing is carried. */
  'first page as signed': ({ count, again, missing }: { count: number; again: number; missing: number }) =>
    `${count} signature${count === 1 ? ' covers the first page' : 's cover first pages'} that the record shows or carries${again === 0 ? '' : `; ${again === count ? '' : `for ${again} of them `}made again from the lot file: the same`}${missing === 0 ? '' : `; of ${missing} more it is not carried`}`,

  'final without head': () => 'the record calls itself final, without signed head',
  'draft without head': ({ size, root }: { size: number; root: string }) =>
    `its head (${size} entries, root ${root}) is not signed in this draft`,
  'another head': () => 'its signed head is not the one shown',
  'head of no known key': () => 'its head is signed by no key that the record carries',
  'head of another origin': ({ origin }: { origin: string }) =>
    `its head comes from ${origin}, which belongs to no key that the record carries`,
  'answer of another audit trail': ({ size }: { size: number }) =>
    `the audit trail under it did not only grow since the head of ${size} entries that the answer names`,
  'head altered': ({ message }: { message: string }) => `its head was altered: ${message}`,
  'entry altered': ({ seq }: { seq: number }) => `entry ${seq} was altered: it does not stand under the head`,
  'time does not hold': ({ statement, fault }: { statement: StatementName; fault: TimeFault }) =>
    `${statementText(statement)}: ${timeFaultText(fault)}`,
  'not proven': ({ unproven }: { unproven: Unproven }) => `nothing proves that it holds ${unprovenText(unproven)}`,
  /** @param later types of entries that only a later version knows. */
  'head holds': (found: { size: number; key: string | null; entries: number; later: readonly string[] }) =>
    `head of ${found.size} entries, signed by key ${found.key}; ${found.entries} entries proven to stand under it${found.later.length === 0 ? '' : `; of types that only a later version knows: ${found.later.join(', ')}`}`,

  'statement of unknown form': ({ name }: { name: string }) => `${name} is no capability statement of this program`,
  'another statement': ({ name }: { name: string }) => `${name} is not the statement that the enclosure names`,
  'statement not canonical': ({ name }: { name: string }) =>
    `${name} is not in the one canonical form in which statements are written`,
  'stated alike': ({ number, compared }: { number: number; compared: boolean }) =>
    `statement ${number}, computed again from its rows: the same to the last digit${compared ? '; the one before is the one that it names' : ''}`,
  'stated otherwise': ({ difference }: { difference: Difference }) =>
    `not what comes of its rows. First difference: ${differenceText(difference)}`,
  'other arithmetic': ({ program, own, difference }: { program: string; own: string; difference: Difference }) =>
    `${program} stated it; ${own} comes to something else. First difference: ${differenceText(difference)}`,
  'signature on another statement': ({ statement }: { statement: StatementName }) =>
    `${statementText(statement)}: it was signed on another statement`,
  'review without a reason': ({ asks }: { readonly asks: readonly StudyNote[] }) =>
    `quality reviewed it without a reason, which it asks for: ${asks.map(studyNoteText).join(' ')}`,
  'review not carried': () => 'it says that quality reviewed it, and carries no such signature',

  'another design': ({ name }: { name: string }) => `${name} is not the design that the enclosure names`,
  'design of unknown form': ({ name }: { name: string }) => `${name} is no design of a form that this program knows`,
  'document spoilt': ({ kind, key, revision }: { kind: string; key: string; revision: number }) =>
    `${entryText(kind, key, revision)} is not what its digest says`,
  'not as signed': ({ kind, key, revision }: { kind: string; key: string; revision: number }) =>
    `who wrote and approved ${entryText(kind, key, revision)} does not follow from the signatures that the file carries`,
  'design alike': ({ documents, gaps, claims }: { documents: number; gaps: number; claims: number }) =>
    `${counted(documents, 'revision')} with their digests; rules walked and claims computed again: the same ${counted(gaps, 'gap')}, the same ${counted(claims, 'claim')}`,
  'design otherwise': ({ difference }: { difference: Difference }) =>
    `not what the rules come to. First difference: ${differenceText(difference)}`,
  'other rules on designs': ({ program, own, difference }: { program: string; own: string; difference: Difference }) =>
    `${program} wrote it; ${own} comes to something else. First difference: ${differenceText(difference)}`,

  'assessment of unknown form': () => 'it is of a form that this program does not know',
  'lot file not assessable': () => 'the lot file says what no intake would have let in, and cannot be assessed',
  'assessed alike': () => 'computed again from the lot file: the same verdicts and numbers',
  'assessment altered': ({ version, difference }: { version: string; difference: Difference }) =>
    `not what the rules of version ${version} come to. First difference: ${differenceText(difference)}`,
  'other rules': (found: { attached: string; program: string; version: string; difference: Difference }) =>
    `rules of version ${found.attached} assessed it; ${found.program}, rules of version ${found.version}, assesses differently. First difference: ${differenceText(found.difference)}`,

  'rendered elsewhere': (found: {
    program: string;
    node: string;
    thisProgram: string;
    thisNode: string;
    sealed: boolean;
  }) =>
    `rendered by ${found.program} on Node.js ${found.node}: this is ${found.thisProgram} on ${found.thisNode}; ${found.sealed ? 'the seal covers the pages' : 'changes of the pages alone could not be seen, but by that version'}`,
  'rendered alike': ({ signed }: { signed: boolean }) =>
    `rendered again from the attached data: the same file, byte for byte${signed ? ", but for the seal's own value" : ''}`,
  'rendered otherwise': ({ differences }: { differences: Differences | null }) =>
    `rendering the attached data again gives other bytes. Altered: ${differencesText(differences)}`,
  'saved again': ({ sealed }: { sealed: boolean }) =>
    `other bytes, but they show and carry what rendering the attached data again gives${sealed ? ', and over that the seal holds' : ''}`,
  'pages counted': ({ missing, count, of }: { missing: readonly number[]; count: number; of: number }) =>
    `${count} pages where ${of} were${missing.length === 0 ? '' : `: missing ${numbersText(missing)}`}`,
  'not renderable': () => 'the attached data says what no intake would have let in, and cannot be rendered',

  'no folder given': () => 'no folder given: the original files and logs were not compared',
  'evidence there': ({ count }: { count: number }) => `all ${count} files are there, unaltered`,
  'evidence missing': ({ files }: { files: readonly string[] }) => `missing or altered: ${files.join(', ')}`,
  'scanned alike': () => 'scanned again: the same findings',
  'scanned otherwise': ({ difference }: { difference: Difference }) =>
    `scanned again. First difference: ${differenceText(difference)}`,
  'other scanner': ({ scanner, own, difference }: { scanner: string; own: string; difference: Difference }) =>
    `scanned by ${scanner}; ${own} finds otherwise. First difference: ${differenceText(difference)}`,

  'measured alike': () => 'measured again: the same deviations',
  'measured otherwise': ({ difference }: { difference: Difference }) =>
    `measured again. First difference: ${differenceText(difference)}`,
  'other measurer': ({ measurer, own, difference }: { measurer: string; own: string; difference: Difference }) =>
    `measured by ${measurer}; ${own} finds otherwise. First difference: ${differenceText(difference)}`,
  'not measurable': ({ difference }: { difference: string }) => `cannot be measured again: ${difference}`,

  'no key given': ({ named }: { named: string | null }) =>
    `none given: the file agrees with itself, and was not compared with a key that you trust.${named === null ? '' : ` It names key ${named}: ask those who issued it for theirs.`}`,
  'no witness': () => 'no witness had a head when it was issued',
  'not grown from the witnessed head': ({ by, size }: { by: string; size: number }) =>
    `the audit trail did not only grow since the head of ${size} entries that ${by} keeps; something in it was changed`,
  'left with a witness': ({ by, at, size }: { by: string; at: string; size: number }) =>
    `the audit trail only grew since the head of ${size} entries that was left in ${by}, ${sealedAtText(at)}: ask there for that head`,
  'stamp does not hold': ({ message }: { message: string }) => message,
  stamped: (found: { by: string; at: string; size: number; certificate: string; isTrusted: boolean }) =>
    `the audit trail only grew since its head of ${found.size} entries, which ${found.by} stamped, ${sealedAtText(found.at)}; certificate ${found.certificate}, ${found.isTrusted ? 'which leads to one that you trust' : 'not compared with one that you trust (--authority)'}`,
  'another chain of keys': ({ fingerprint, fault }: { fingerprint: string | null; fault: KeyFault | null }) =>
    fault === null ? 'the record carries no key' : `key ${fingerprint}: ${KEY_FAULTS[fault]}`,
  'first key of the anchor': () => 'its keys follow from the first key of the anchor, which holds no head',
  'head of the anchor': ({ size }: { size: number }) =>
    `its keys follow from the first key of the anchor, and its audit trail has the head of ${size} entries that the anchor holds`,
  'head not comparable': ({ size, ofRecord }: { size: number; ofRecord: number }) =>
    `its keys follow from the first key of the anchor; its audit trail has ${ofRecord} entries, and the head of ${size} that the anchor holds cannot be compared with it: ledger verify does that in the folder`,
  'another head in the anchor': ({ size }: { size: number }) =>
    `the anchor holds another head of ${size} entries: the audit trail of the record is not the one of the installation`,
  'trusted key': () =>
    'the head of the audit trail is signed by the key that you trust, and what stands under it with it',
  'trusted people': () => 'the keys of people lead from the one that you trust',
  'other people': ({ key, name, person }: { key: string; name: string; person: string }) =>
    `the keys of people lead from ${key} of ${name} (${person}), and not from the one that you trust`,
  'keys beside the trusted one': ({ keys }: { keys: readonly string[] }) =>
    `statements stand under keys that do not lead to the one that you trust: ${keys.join(', ')}`,
  'another key': ({ key, isPast }: { key: string; isPast: boolean }) =>
    `the head of the audit trail is signed by ${key}: ${isPast ? 'the record names the one that you trust as an earlier key; ask for the present one' : 'not by yours'}`,
  'draft without key': () => 'this draft is bound to no key: there is nothing to compare yours with',
  'nothing bound to a key': () =>
    'there is no head of an audit trail that holds, so that nothing is bound to the key you trust',

  rewritten: ({ record }: { record: RecordName }) =>
    `${recordText(record)}: the audit trail did not only grow since; something in it was changed`,
  'no earlier record': () => 'this record names none',
  'only grew': ({ count }: { count: number }) =>
    `the audit trail under ${count} of them only grew; none was given to compare with`,
  'issued later': ({ record, lot }: { record: RecordName; lot: string }) =>
    `${recordText(record)} of lot ${lot}: it was issued later: name the two files the other way round`,
  'not named': ({ record, lot }: { record: RecordName; lot: string }) =>
    `${recordText(record)} of lot ${lot}: this record does not name it`,
  'another audit trail': ({ record }: { record: RecordName }) =>
    `${recordText(record)} was issued under another audit trail: its head is not the one named here`,
  'another contents': ({ record }: { record: RecordName }) =>
    `${recordText(record)} is not the one that this record supersedes: its contents are others`,
  beginning: ({ record, size }: { record: RecordName; size: number }) =>
    `the audit trail under ${recordText(record)} (${size} entries) is the beginning of the one under this; verify that file by itself for the rest of it`,
};

/** Beside them what an earlier record was found to be, whose own fault is told with it. */
export const VERIFY_FINDINGS = {
  ...FINDINGS,
  'earlier not reliable': ({ file, fault }: { file: string; fault: NamedStep & CodedBy<typeof FINDINGS> }) =>
    `${file} cannot be relied on: ${stepText(fault)}: ${codedText(FINDINGS, fault)}`,
};

/** What a step of a verification found. */
export type VerifyFinding = CodedBy<typeof VERIFY_FINDINGS>;

export const verifyText = (finding: VerifyFinding): string => codedText(VERIFY_FINDINGS, finding);
