const KIB = 1024;
const MIB = 1024 * KIB;
const GIB = 1024 * MIB;

/**
 * What the program takes at most of whatever comes to it, in the one place where it is said. Each is far beyond what the
 * work needs and far below what fills a disk, keeps a machine busy or takes more memory than it has, and is asked for
 * before that is spent. docs/formats.md tells all of them (src/kinds/limits-doc.ts).
 */
export const MOST = {
  /** Files and folders of a folder that is taken in, with those that are hidden. */
  files: 20_000,
  pathCharacters: 300,
  pathNames: 20,
  nameBytes: 255,
  /** Of whatever is copied into the evidence, by the command. */
  evidenceBytes: 64 * GIB,

  documentBytes: 8 * MIB,
  /** All documents of a folder: their bytes and what they say is held until the folder is checked. */
  documentsBytes: 64 * MIB,
  /** Words, signs, blanks and line ends: each costs up to a kilobyte while the document is read. */
  documentTokens: 400_000,
  /** With every reference written out: a file of a few lines can stand for any number. */
  documentValues: 250_000,
  documentDepth: 100,
  documentAliases: 10_000,
  /** Keys of one map. */
  documentKeys: 10_000,
  /** What is told of one file, and of a folder: more is mended by nobody value by value. */
  problemsOfFile: 1000,
  problems: 5000,

  sheetBytes: 32 * MIB,
  sheetRows: 100_000,
  /** Rows of all sheets of a folder. */
  sheetsRows: 200_000,
  sheetColumns: 64,
  sheetLineCharacters: 64 * KIB,

  logLineBytes: 64 * KIB,
  logRejectedLines: 100_000,
  /** Statistics over layers, zones, steps and channels that one scan keeps. */
  logStatistics: 600_000,
  /** Told apart while it is not known whether a document tells any of them twice. Of its observations there may be any number. */
  streamDataItems: 500_000,
  streamDepth: 100,
  streamTagCharacters: 64 * KIB,
  streamValueCharacters: 4000,
  streamSeriesCharacters: 4 * MIB,
  /** One answer of an agent that is recorded. */
  recordedDocumentBytes: 32 * MIB,
  /** A digital calibration certificate, with the papers inside. */
  certificateBytes: 8 * MIB,

  shapePoints: 50_000_000,
  /** Each costs about 150 bytes while points are held against it. */
  shapeTriangles: 2_000_000,
  shapeLineCharacters: 4 * KIB,
  shapeHeaderBytes: 64 * KIB,
  shapeListBytes: 64 * KIB,

  /** By the browser or a program, unpacked. */
  uploadFileBytes: 2 * GIB,
  uploadBytes: 4 * GIB,
  /** Bytes that one byte of a ZIP becomes. Logs of machines become twenty to sixty. */
  packedRatio: 200,
  /** What may be packed as well as it likes: small files of one line repeated. */
  packedFreely: MIB,
  uploadsAtOnce: 3,
  /** Of what a person sent and did not store yet. */
  stagedOfPerson: 5,
  /** Of all people together. */
  stagedBytes: 16 * GIB,
  /** A longer file comes in such pieces, so that what was cut off goes on where it was. */
  pieceBytes: 8 * MIB,
  uploadFields: 20,
  uploadFieldBytes: 20_000,
  /** Fields of a form that a document is made in, with what it remembers of its rows. */
  formFields: 5000,
  /** Of one file that is chosen in such a form; longer ones come in a folder. */
  draftFileBytes: 32 * MIB,
  draftFiles: 20,
  draftsOfPerson: 30,
  jobsAtOnce: 3,
  jobsWaiting: 20,
  /** For a worker thread of one kind, beside the task that it does. */
  workerWaiting: 20,
  /** Until what is under way is cut off when the service is told to end. */
  drainMs: 20_000,
  bodyBytes: MIB,
  bodyMs: 30_000,
  requestsPerMinute: 3000,
  changesPerMinute: 600,
  signInsPerMinute: 120,

  pdfBytes: 64 * MIB,
  pdfUnpackedBytes: 192 * MIB,
  pdfMs: 20_000,
  pdfPages: 10_000,
  headBytes: MIB,
  manifestBytes: 256 * MIB,
} as const;

/** The same names with whatever numbers: tests set them lower. */
export type Most = { readonly [Name in keyof typeof MOST]: number };
