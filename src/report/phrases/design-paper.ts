import type { StudiedLoss } from '../../design-history/loss-claims.js';
import type { PageWords } from '../../pdf/page-words.js';
import { ABSENT } from './absent.js';
import { counted } from './counted.js';
import type { ClauseRow } from './design-clauses.js';
import { PAGE_WORDS } from './page-words.js';
import { PAPER } from './paper.js';

/** Words of every page of the file of a design. */
export const DESIGN_FILE_WORDS: PageWords = {
  ...PAGE_WORDS,
  properties: {
    ...PAGE_WORDS.properties,
    schema: 'Identity of the file of a design',
    number: 'Number of the files of this family',
    revision: 'Entries of the audit trail of which it tells',
    digest: 'SHA-256 of the design that the file shows',
    state: 'draft while a gap is open or nothing approved froze it, then final',
  },
};

/** More than anybody measures. */
const digits = (value: number): string => String(Number(value.toPrecision(6)));

/** Words of the file of a design. */
export const DESIGN_PAPER = {
  title: (family: string) => `Design history of family ${family}`,
  subject: (family: string, day: string) => `Design and development file of family ${family} as of ${day}`,
  state: (day: string, draft: boolean, demo: boolean) =>
    `As of ${day} · ${draft ? 'DRAFT: a gap is open, or no approved baseline froze it so' : 'no gap is open, and an approved baseline froze it so'}${demo ? PAPER.demo : ''}`,
  gapsOf: (open: number, answered: number) =>
    `${open === 0 ? 'No gap is open' : `${counted(open, 'gap')} open`}${answered === 0 ? '' : `, ${answered} answered by a signed justification`}.`,
  openItems: 'Open, by who has to see to it',
  owes: (owner: string, count: number) => `${owner}: ${counted(count, 'gap')}`,
  care: 'Read with care',
  contents: 'Contents',
  familyHead: 'Family',
  names: 'What it is called',
  namesSay:
    'Design and development file (ISO 13485:2016 7.3.10, and US law since 2026-02-02); people still say design history file, DHF. It is no lot record, which proves one lot (7.5.1, formerly DHR).',
  asOf: 'As of',
  head: (day: string, entries: number) => `${day}, entry ${entries} of the audit trail `,
  documents: 'Documents',
  counted: (revisions: number, lots: number) => `${counted(revisions, 'revision')}; ${counted(lots, 'lot')} made`,
  design: 'Design (SHA-256)',
  printed: 'Printed',
  printedBy: (at: string, by: string, program: string) => `${at}, by ${by}, with ${program}`,
  trail: 'Audit trail when printed',
  entries: (size: number) => `${counted(size, 'entry', 'entries')}, root `,
  check: 'To check it',
  how: 'lotwright verify FILE compares every digest, walks the rules on gaps and computes each claim again from what is attached, and checks seal, signatures and audit trail, without any other file',
  none: ABSENT.none,
  noneSentence: ABSENT.noneSentence,
  page: (page: string) => `page ${page}`,
  document: (kind: string, key: string, name: string) => `${key}: ${name} (${kind})`,
  standing: (authors: readonly string[], approvedBy: string | null, at: string | null) =>
    `${authors.length === 0 ? 'signed by no author' : `by ${authors.join(', ')}`}, ${
      approvedBy === null ? 'approved by nobody' : `approved by ${approvedBy}${at === null ? '' : `, ${at}`}`
    }`,
  namedBy: 'Named by',
  touched: (change: string, entries: number, lines: number) =>
    `What ${change} touches: ${counted(lines, 'line')}, as of entry ${entries} of the audit trail`,
  whyTouched: 'Why',
  follows: 'What follows',
  nobodyAnswered: 'nobody has said yet',
  record: 'On record',
  revision: (revision: number) => `revision ${revision}`,
  what: 'Document',
  titleHead: 'Title',
  approval: 'Author and approval',
  sha: 'SHA-256',
  family: 'Family',
  given: 'Documents that it gives to those who make and test',
  validations: 'Process validations',
  onTheFloor: 'Approved and in effect',
  gaps: 'Gaps, the open ones first, by owner',
  for: 'For',
  gap: 'Gap',
  of: 'Of',
  by: 'By',
  stateHead: 'State',
  noDay: 'no day',
  nobody: 'nobody who is named',
  noGap: 'None.',
  answered: (
    state: string,
    { justification, until, by }: { justification: string; until: string | null; by: string },
  ) => `${state}, by ${by}${until === null ? '' : ` until ${until}`}: ${justification}`,
  forward: 'From each need forward',
  forwardHeads: ['Need', 'Input', 'Output', 'Verified by', 'Validated by', 'Risk controls'],
  back: 'From each study back, and on to its lots',
  backHeads: ['Study', 'Outputs', 'Inputs', 'Needs', 'Risk controls', 'Lots'],
  asked: 'Criterion',
  computed: 'Computed from the record',
  values: 'Values on record',
  value: (lot: string, specimen: string, piece: string, value: string) =>
    `${lot} ${specimen}${piece === specimen || piece === '' ? '' : ` ${piece}`} ${value}`,
  losses: 'Exposures on record, each with the depth lost and its standard uncertainty',
  loss: ({ lot, specimen, piece, exposure, hours, depthUm, standardUncertaintyUm, deepestUm, build }: StudiedLoss) =>
    [
      `${lot} ${specimen}${piece === '' ? '' : ` ${piece}`}, exposure ${exposure}, build ${build}`,
      `${digits(hours)} h ${digits(depthUm)} µm ± ${digits(standardUncertaintyUm)} µm`,
      ...(deepestUm === null ? [] : [`deepest ${deepestUm} µm`]),
    ].join(', '),
  agedStudies: 'Studies on aged parts and on rates of loss',
  study: 'Study',
  alsoValidate: 'Done for another purpose, and showing a need to be met',
  aged: 'Aged',
  notAged: 'not aged',
  suppliers: 'Suppliers approved for the materials of the specification',
  material: 'Material',
  supplier: 'Supplier',
  since: 'Since',
  until: 'Until',
  materials: 'Specifications of materials',
  clauses: 'Clauses, told from memory in our own words',
  clause: 'Clause',
  asks: 'What it asks for',
  answeredIn: 'Where it is answered',
  clauseOf: ({ clause, title, mark }: ClauseRow) => `${clause}, ${title} (${mark})`,
  lots: 'Every lot of the family, as it stood then',
  lot: 'Lot',
  built: 'Built',
  implants: 'Implants',
  baseline: 'Baseline then',
  lotFile: 'Lot file',
  carried: 'Carried in this file',
  name: 'Name, and what it is',
  evidence: 'Files that these documents name, kept by the cell',
  evidenceProof:
    'The audit trail proves that the cell received each of these files, with its length, and that one was removed; so one that is called too large is. To which document a file belongs, and that one is personal data, rests on the word of the cell.',
  file: 'File',
  fileOf: (use: string, name: string, bytes: number) => `${use}: ${name}, ${bytes} bytes`,
  files: 'Files',
  fileNamed: (use: string, name: string, carriedAs: string | null) =>
    `${use}: ${name}${carriedAs === null ? '' : ', attached'}`,
  whereCarried: 'Attached as',
  notCarried: {
    'stands in the design': 'by its digest alone: what it says stands in this file',
    'too large': 'by its digest alone: too large',
    'personal data': 'by its digest alone: personal data, kept apart',
    removed: 'by its digest alone: its bytes were removed',
  },
  signatures: 'Signatures on what it shows',
  signed: 'What',
  who: 'Signed by',
  meaning: 'Meaning',
  at: 'At',
  nobodySigned: 'Nobody signed any of it.',
  carries: {
    design: 'every document with its digest, the values that studies rest on, lots, and what the rules came to',
    template: 'order, titles and words of the file',
    note: 'how to recompute without this program',
    received: 'a file that a document names, as it was received',
    enclosure: 'signatures, keys and head of the audit trail',
  },
} as const;

/** What a stranger needs to compute it again with other means. */
export const recomputeDesign = `How to recompute what this file says, without the program that wrote it

design-history.json holds every document as "body" beside "digest". The digest is the SHA-256 of the canonical JSON of the
body (RFC 8785: keys sorted by UTF-16 code units, no white space). enclosure.json names each attachment by its SHA-256, and
the properties of the PDF name enclosure.json by its own.

Files whose names begin with evidence- are files that documents name, as they were received: "evidence" in design-history.json
says of which document, with the SHA-256 of the bytes. An entry of the audit trail proves that these bytes were received; which
document names them rests on the word of the cell. So does what "studied" says of lots: their values, the "parts" with build,
study and "made", and that each exposure stands there in its last revision. What is named there by its digest alone is compared with the file that the
cell keeps. "signatures" in enclosure.json names by digest what each person signed.

A claim of a study rests on the values that "studied" lists for its lots, those of its characteristic and of the parts that
it names. With n values, their mean and standard deviation s (n - 1 degrees of freedom):

by a tolerance interval   lower = mean - k s, upper = mean + k s. For one limit k = t(C; n - 1, z(R) sqrt(n)) / sqrt(n), the
                          quantile of the noncentral t distribution; z(R) is the quantile of the normal one, R the
                          reliability, C the confidence. For two limits k is the exact two-sided factor. It holds when what
                          lies within these limits is claimed. It is not decided where the test of Shapiro and Wilk gives p
                          below 0.05.
by zero failures          none of n values lies outside, and n is at least ln(1 - C) / ln(R), rounded up.
by each value             none of n values lies outside.
by a capability statement the lower bound of the index in the statement is at least the value that is claimed.
by loss against window    "exposed" lists the exposures of the lot, whole, each with its digest, and in which build its specimen
                          was made. Those of the class of zones that is claimed give a depth of loss each, with its standard
                          uncertainty; they have to stand together. A coupon speaks for the class by the equivalence study that
                          "parts" names: approved, not withdrawn, of the family of the lot, listing class and characteristic,
                          the "machine" and "recipeGroup" of "made", position and orientation where it lists any, and valid
                          when the chamber was closed ("closedAt"). The loss against time and what is left of the section
                          follow as the note of a lot record tells of support-window-met, with "simulation" of this file where
                          it says simulation.json, the confidence of the study in place of 0.95 but for u(d), and
                          "localisationFactor" of its window in place of that of "support". A section that was measured on an
                          implant counts, also where the exposure tells no loss. It holds where what is left after the weeks claimed keeps both limits with
                          its whole interval, and it is gone in time where a week is stated for that.

Nothing is decided while another number of values is there than the study says were tested.

Example: ten values with mean 230.53 and s 1.6412, claimed at least 215 with R = 0.95 and C = 0.95. k = 2.911, lower =
230.53 - 2.911 x 1.6412 = 225.75, which is at least 215: it holds.

A gap is known by the SHA-256 of the canonical JSON of {"detail", "rule", "subjects"}. docs/design-history.md tells what each
rule asks for.
`;
