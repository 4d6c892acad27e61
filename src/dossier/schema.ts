import { z } from 'zod';
import { parseForm } from '../base/later-form.js';
import { FindingDetail, JoinedCause } from './finding-detail.js';
import { SignedStatement } from './statement.js';

export const Digest = z.string().regex(/^[0-9a-f]{64}$/);

/** One revision of an entry, whole, as it stood when the dossier was frozen. */
export const Pinned = z.strictObject({
  kind: z.string(),
  key: z.string(),
  revision: z.int().positive(),
  digest: Digest.describe('SHA-256 of the canonical JSON of the body'),
  recordedAt: z.string(),
  body: z.unknown(),
});
export type Pinned = z.infer<typeof Pinned>;

/** A table or a document that is too long for the dossier itself, or that belongs to one case alone. */
export const PartRef = z.strictObject({
  name: z.string().regex(/^[A-Za-z0-9._-]+$/),
  sha256: Digest,
  bytes: z.int().nonnegative(),
  mediaType: z.enum(['text/csv', 'application/json']),
  format: z.int().positive().describe('of this part: which columns or fields it has'),
  /** Set for the part of a case (`CasePart`): it may be withheld from others. */
  case: z.string().optional(),
});
export type PartRef = z.infer<typeof PartRef>;

export const EvidenceRef = z.strictObject({
  sha256: Digest,
  fileName: z.string(),
  bytes: z.int().nonnegative(),
  use: z.string().describe('what the file is evidence of'),
});
export type EvidenceRef = z.infer<typeof EvidenceRef>;

/** In which unit a channel was logged, who said so, and how it came into the unit of the recipe. */
export const LogChannel = z.strictObject({
  channel: z.string(),
  ucum: z.string().describe('unit of everything that is said of it'),
  loggedUcum: z.string(),
  unitFrom: z.array(z.enum(['lot file', 'sidecar', 'unit row', 'channel map'])),
  /** Logged value × factor + offset; absent for a dew point. */
  factor: z.number().optional(),
  offset: z.number().optional(),
  dewPoint: z
    .strictObject({
      over: z.enum(['ice', 'water']),
      pressureChannel: z.string(),
      ambientChannel: z.string().nullable(),
    })
    .optional()
    .describe('by which saturation and at which pressure a dew point became a share of moisture'),
});
export type LogChannel = z.infer<typeof LogChannel>;

/** One log file as scanned. */
export const LogFacts = z.strictObject({
  build: z.string(),
  fileName: z.string(),
  sha256: Digest.describe('of the bytes as received'),
  textSha256: Digest.describe('of the text, after unpacking gzip'),
  bytes: z.int().nonnegative(),
  rows: z.int().nonnegative(),
  rejectedRows: z.int().nonnegative(),
  firstAt: z.string().nullable(),
  lastAt: z.string().nullable(),
  scanner: z.string().describe('name and version of the scanner'),
  planSha256: Digest.describe('of the plan by which the file was scanned'),
  /** These two are absent in the facts of earlier scanners. */
  mergedWith: z.array(Digest).optional().describe('every file of the build that was merged by time, as they count'),
  clockOffsetMs: z.number().optional().describe('what was added to the recorder clock'),
  channels: z.array(LogChannel).optional(),
});
export type LogFacts = z.infer<typeof LogFacts>;

/** A document that was withdrawn for cause: what was made by it cannot be released. */
export const Withdrawal = z.strictObject({
  kind: z.string(),
  key: z.string(),
  revision: z.int().positive(),
  at: z.string(),
  by: z.string(),
  reason: z.string(),
});
export type Withdrawal = z.infer<typeof Withdrawal>;

/**
 * Everything that is of one case alone: its documents, what they rest on beyond what the lot rests on, their files, what was
 * signed on them, and which of them were withdrawn. It stands in the part of the case and nowhere else, so that a copy for
 * the institution of another case can leave it out.
 */
export const CasePart = z.strictObject({
  format: z.literal(1),
  case: z.string(),
  pinned: z.array(Pinned),
  evidence: z.array(EvidenceRef),
  signatures: z.array(SignedStatement),
  withdrawn: z.array(Withdrawal),
});
export type CasePart = z.infer<typeof CasePart>;

/** Formats of the lot file, the newest last: lots are frozen in that one (docs/architecture.md, how formats grow). */
export const LOT_FILE_FORMATS = [1] as const;
export type LotFileFormat = (typeof LOT_FILE_FORMATS)[number];
export const NEWEST_LOT_FILE: LotFileFormat = LOT_FILE_FORMATS.at(-1)!;

/** The facts of one lot, frozen. Its digest is the SHA-256 of its canonical JSON (RFC 8785). */
export const Dossier = z.strictObject({
  format: z.literal(LOT_FILE_FORMATS),
  demo: z.boolean(),
  lot: z.string(),
  /** The last ledger entry that touched the facts of this lot. */
  asOf: z.strictObject({ ledgerEntry: z.int().nonnegative(), at: z.string() }),
  pinned: z.array(Pinned),
  logs: z.array(LogFacts),
  evidence: z.array(EvidenceRef),
  /** Signed statements on facts of this lot file, but for those of one case. Reviews and releases are made on it and stand in the enclosure. */
  signatures: z.array(SignedStatement),
  withdrawn: z.array(Withdrawal),
  parts: z.array(PartRef),
});
export type Dossier = z.infer<typeof Dossier>;

/**
 * A lot file as it was stored.
 * @throws LaterFormError when it has what only a later version knows.
 */
export const readLotFile = (text: string): Dossier => parseForm('the lot file', Dossier, JSON.parse(text));

/** Where a log finding lies. A null zone is every zone, null layers are every layer. */
export const Place = z.strictObject({
  zone: z.string().nullable(),
  layerFrom: z.number().nullable(),
  layerTo: z.number().nullable(),
});

const Level = z.enum(['alert', 'action', 'reject']);

/** A finding of the log scan, as stored. Its identity is the SHA-256 over rule, subjects and facts. */
export const LogFinding = z.strictObject({
  id: Digest,
  build: z.string(),
  rule: z.string(),
  level: Level,
  channel: z.string().nullable(),
  ucum: z.string().nullable(),
  startedAt: z.string().nullable(),
  endedAt: z.string().nullable(),
  places: z.array(Place),
  steps: z.array(z.string()),
  /** What the rule found. Values in the unit of the channel; the integral in that unit × seconds. */
  facts: z.strictObject({
    what: FindingDetail.optional(),
    direction: z.enum(['high', 'low']).optional(),
    worst: z.number().optional(),
    limit: z.number().optional(),
    durationMs: z.number().optional(),
    /** Of many findings alike: the longest of them. */
    longestMs: z.number().optional(),
    integralS: z.number().optional(),
    joins: z.array(JoinedCause).optional(),
    mostSevere: Level.optional().describe('among what it joins'),
    rows: z.int().optional(),
    lineFrom: z.int().optional(),
    lineTo: z.int().optional(),
    occurrences: z.int().optional(),
  }),
});
export type LogFinding = z.infer<typeof LogFinding>;

/** Min/max outline of one channel over a build, at fixed width, so that plots need no log. */
export const Outline = z.strictObject({
  channel: z.string(),
  ucum: z.string(),
  startMs: z.number(),
  bucketMs: z.number(),
  min: z.array(z.number().nullable()),
  max: z.array(z.number().nullable()),
});
export type Outline = z.infer<typeof Outline>;

/** When one step ran, to the width of a bucket of the outline. */
export const StepSpans = z.strictObject({
  step: z.string(),
  spans: z.array(z.strictObject({ startedAt: z.string(), endedAt: z.string() })),
});
export type StepSpans = z.infer<typeof StepSpans>;

export const LogPart = z.strictObject({
  build: z.string(),
  findings: z.array(LogFinding),
  outlines: z.array(Outline),
  gaps: z.array(z.strictObject({ startedAt: z.string(), endedAt: z.string() })),
  /** Absent in the parts of earlier scanners. */
  steps: z.array(StepSpans).optional(),
});
export type LogPart = z.infer<typeof LogPart>;
