import { MOST } from '../base/limits.js';

type Name = keyof typeof MOST;

const count = (value: number): string => String(value).replace(/\B(?=(?:\d{3})+$)/g, ' ');

function bytes(value: number): string {
  const powers = [
    [1024 ** 3, 'GiB'],
    [1024 ** 2, 'MiB'],
    [1024, 'KiB'],
  ] as const;
  const [size, unit] = powers.find(([power]) => value % power === 0) ?? [1, 'bytes'];
  return `${count(value / size)} ${unit}`;
}

const seconds = (value: number): string => `${value / 1000} s`;

/** Of each limit what it is of, how it is written, and what to do for more. Those of one heading stand together. */
const ROWS: Readonly<Record<Name, readonly [what: string, text: (value: number) => string, instead: string]>> = {
  files: ['a folder or a ZIP: files and folders, hidden ones too', count, 'take in a part at a time'],
  pathCharacters: ['a path: characters', count, 'use shorter names'],
  pathNames: ['a path: names', count, 'put it into fewer folders'],
  nameBytes: ['a name: bytes', count, 'use shorter names'],
  evidenceBytes: ['a log, certificate or attachment, by the command', bytes, 'split the log: a build may have several'],
  documentBytes: ['a YAML document, or the units of a log', bytes, 'split it'],
  documentsBytes: ['all documents of a folder', bytes, 'take in a part at a time'],
  documentTokens: ['a document: words, signs, blanks and line ends', count, 'split it, or write a table'],
  documentValues: ['a document: values, with every reference written out', count, 'split it'],
  documentDepth: ['a document: values nested', count, 'write it flatter'],
  documentAliases: ['a document: references', count, 'write the values out'],
  documentKeys: ['a document: fields in one place', count, 'correct the indentation, or split it'],
  problemsOfFile: ['problems told of one file', count, 'mend what is told first'],
  problems: ['problems told of a folder', count, 'mend what is told first: the rest is not read'],
  sheetBytes: ['a result sheet', bytes, 'split it: a lot may have several'],
  sheetRows: ['a result sheet: rows', count, 'split it'],
  sheetsRows: ['all result sheets of a folder: rows', count, 'take in a part at a time'],
  sheetColumns: ['a result sheet: columns', count, 'correct the row: it has no more than those named below'],
  sheetLineCharacters: ['a result sheet: characters of a row', count, 'look for a quote that is not closed'],
  logLineBytes: ['a log: bytes of a row', count, 'a longer one is rejected as a row'],
  logRejectedLines: ['a log: rows that cannot be read', count, 'correct the export: beyond, the log is refused'],
  logStatistics: ['a log: pairs of a channel and of a layer, zone and step', count, 'correct the columns'],
  streamDataItems: ['a document of an MTConnect stream: data items', count, 'ask for fewer at a time'],
  streamDepth: ['a stream: elements nested', count, 'correct the agent'],
  streamTagCharacters: ['a stream: characters of a tag, a comment or an instruction', count, 'correct the agent'],
  streamValueCharacters: ['a stream: characters of a value', count, 'correct the agent'],
  streamSeriesCharacters: ['a stream: characters of a time series', count, 'have the agent send shorter ones'],
  certificateBytes: ['a digital calibration certificate', bytes, 'attach it as PDF, which people read'],
  recordedDocumentBytes: [
    'an answer of an agent that is recorded',
    bytes,
    'have the agent give fewer observations at a time',
  ],
  shapePoints: ['a scanned shape: points', count, 'take every second point'],
  shapeTriangles: ['a mesh: triangles', count, 'write it coarser, within a tenth of the profile'],
  shapeLineCharacters: ['a line of a shape in text: characters', count, 'export it again'],
  shapeHeaderBytes: ['the header of a PLY file', bytes, 'leave its comments out'],
  shapeListBytes: ['one list in a row of a PLY file', bytes, 'export the points alone'],
  uploadFileBytes: ['by the browser: one file, unpacked', bytes, 'take it in by the command'],
  uploadBytes: ['by the browser: all files, unpacked', bytes, 'send a lot at a time, or use the command'],
  packedRatio: [
    'a packed file, and a ZIP as a whole: times as large unpacked',
    count,
    'send the folder itself, or use the command',
  ],
  packedFreely: ['what may be packed as well as it likes, unpacked', bytes, ''],
  uploadsAtOnce: ['uploads at the same time', count, 'send it again when one of them is done'],
  stagedOfPerson: ['uploads that a person sent and did not store', count, 'store one, or throw one away'],
  stagedBytes: ['such uploads of all people', bytes, 'wait until others stored theirs, or use the command'],
  pieceBytes: ['a piece of a file that comes in pieces', bytes, 'send smaller pieces'],
  uploadFields: ['fields beside the files', count, 'send the form of the page'],
  uploadFieldBytes: ['such a field: bytes', count, 'send the form of the page'],
  formFields: ['a form that makes a document: fields', count, 'write it as a file, and take that in'],
  draftFileBytes: ['a file that is chosen in such a form', bytes, 'take it in with the document as a folder'],
  draftFiles: ['files that are chosen in such a form', count, 'take them in with the document as a folder'],
  draftsOfPerson: ['forms that a person began and did not store', count, 'the oldest one goes'],
  jobsAtOnce: ['work that takes long, such as a record: at the same time', count, 'the next waits for its turn'],
  jobsWaiting: ['such work that waits', count, 'try again after the seconds that are told'],
  workerWaiting: [
    'what is answered by a thread of its own, such as an impact: others that wait',
    count,
    'try again after the seconds that are told',
  ],
  drainMs: ['what is under way when the service is told to end', seconds, 'begin it again at the next start'],
  bodyBytes: ['any other request: its body', bytes, 'send less at a time'],
  bodyMs: [
    'a body: until it is whole; of an upload, until the next 16 KiB',
    seconds,
    'use a faster line, or the command',
  ],
  requestsPerMinute: ['requests of one address in a minute', count, 'wait until the minute is over'],
  changesPerMinute: ['changes of one address in a minute', count, 'wait until the minute is over'],
  signInsPerMinute: ['attempts to sign in of one address in a minute', count, 'wait until the minute is over'],
  pdfBytes: ['a PDF that is verified', bytes, 'it is no record of this program'],
  pdfUnpackedBytes: ['such a PDF, unpacked', bytes, 'it is no record of this program'],
  pdfMs: ['such a PDF: time for reading it', seconds, 'it is no record of this program'],
  pdfPages: ['such a PDF: pages that are counted', count, ''],
  headBytes: ['a file with a head of the audit trail', bytes, 'name the file that "ledger head" wrote'],
  manifestBytes: ['the list of contents of a backup', bytes, 'it is no backup of this program'],
};

/** The table of all limits, for docs/formats.md. */
export function limitsText(): string {
  const lines = (Object.keys(ROWS) as Name[]).map((name) => {
    const [what, text, instead] = ROWS[name];
    return `| ${what} | ${text(MOST[name])} | ${instead} |`;
  });
  return ['| what | at most | for more |', '|---|---|---|', ...lines].join('\n');
}
