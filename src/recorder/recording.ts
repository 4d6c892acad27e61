import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { z } from 'zod';
import { BadInputError } from '../base/errors.js';
import { isGone } from '../base/process-gone.js';
import { type GzipMember, gzipMember, wholeMembers } from './gzip-members.js';
import { type Numbered, readDocument } from './read-document.js';

/** A file that is whole: nothing is added to it any more. */
const RecordedFile = z.strictObject({
  file: z.string(),
  instance: z.string(),
  fromSequence: z.number().int(),
  toSequence: z.number().int(),
  observations: z.number().int(),
  documents: z.number().int(),
  firstAt: z.string(),
  lastAt: z.string(),
  bytes: z.number().int(),
  sha256: z.string(),
});
export type RecordedFile = z.infer<typeof RecordedFile>;

/** What is not in the files, and why. */
const Lost = z.discriminatedUnion('why', [
  /** The agent held these no longer when it was asked. */
  z.strictObject({
    ...{ why: z.literal('no longer held'), at: z.string(), instance: z.string() },
    ...{ fromSequence: z.number().int(), toSequence: z.number().int() },
  }),
  /** The agent began anew: what it observed before and had not given is gone. */
  z.strictObject({ why: z.literal('agent restarted'), at: z.string(), instance: z.string(), before: z.string() }),
]);
export type Lost = z.infer<typeof Lost>;

const Index = z.strictObject({
  format: z.literal(1),
  agent: z.string(),
  /** Where the next request goes on; null before the first answer. */
  next: z.strictObject({ instance: z.string(), sequence: z.number().int() }).nullable(),
  files: z.array(RecordedFile),
  lost: z.array(Lost),
});
export type RecordingIndex = z.infer<typeof Index>;

/** The file that is being written: what a whole one has, but for the end. */
interface OpenFile {
  readonly handle: number;
  readonly hour: string;
  readonly instance: string;
  fromSequence: number | null;
  toSequence: number;
  observations: number;
  documents: number;
  firstAt: string;
  lastAt: string;
  bytes: number;
}

const HOUR = 'YYYY-MM-DDTHH'.length;

/**
 * A recording on disk: one gzip file for each hour (UTC) with the documents of the agent as they came, each a member of its
 * own, and beside them an index of what is whole, what was lost and where the next request goes on. A document is on disk
 * before the next is asked for; what a cut left half is cut off at the next start, and asked for again.
 */
export class Recording {
  private open: OpenFile | null = null;

  private constructor(
    private readonly base: string,
    private index: RecordingIndex,
  ) {}

  /**
   * Begins one, or goes on with the one that is there.
   * @param base path of the files without their endings.
   * @throws BadInputError when files of another agent, or what is no recording, are in its place.
   */
  static at(base: string, agent: string): Recording {
    fs.mkdirSync(path.dirname(path.resolve(base)), { recursive: true });
    takeLock(`${base}.lock`);
    const recording = new Recording(base, readIndex(`${base}.json`, agent));
    recording.recover();
    recording.write();
    return recording;
  }

  get next(): RecordingIndex['next'] {
    return this.index.next;
  }

  get files(): readonly RecordedFile[] {
    return this.index.files;
  }

  get lost(): readonly Lost[] {
    return this.index.lost;
  }

  /** Keeps a document, and goes on behind it. @param at when it came. */
  add(bytes: Buffer, read: Numbered, at: string): void {
    if (read.sequences.length > 0) {
      const isOther = this.open?.hour !== at.slice(0, HOUR) || this.open.instance !== read.instance;
      if (this.open && isOther) this.closeFile();
      this.open ??= this.begin(at, read.instance);
      this.append(this.open, gzipMember(bytes, at), read, at);
    }
    this.index = { ...this.index, next: { instance: read.instance, sequence: read.nextSequence } };
  }

  /** Notes what will not come, and goes on behind it. */
  lose(lost: Lost, sequence: number): void {
    // What is still open ends before the hole.
    if (this.open) this.closeFile();
    const { instance } = lost;
    this.index = { ...this.index, lost: [...this.index.lost, lost], next: { instance, sequence } };
    this.write();
  }

  close(): void {
    try {
      if (this.open) this.closeFile();
      this.write();
    } finally {
      fs.rmSync(`${this.base}.lock`, { force: true });
    }
  }

  private get openPath(): string {
    return `${this.base}.open.xml.gz`;
  }

  private begin(at: string, instance: string): OpenFile {
    const handle = fs.openSync(this.openPath, 'w', 0o640);
    return {
      ...{ handle, hour: at.slice(0, HOUR), instance, fromSequence: null, toSequence: 0 },
      ...{ observations: 0, documents: 0, firstAt: at, lastAt: at, bytes: 0 },
    };
  }

  private append(open: OpenFile, member: Buffer, { sequences }: Numbered, at: string): void {
    try {
      // A disk that fills up may take a part of it without an error.
      for (let at = 0; at < member.length; )
        at += fs.writeSync(open.handle, member, at, member.length - at, open.bytes + at);
      fs.fdatasyncSync(open.handle);
    } catch (error) {
      // As on a full disk: half a document is none.
      fs.ftruncateSync(open.handle, open.bytes);
      throw error;
    }
    count(open, sequences, member.length, at);
  }

  /** Gives it the name of what it holds, and notes it. */
  private closeFile(): void {
    const { handle, hour: _, ...told } = this.open!;
    const { firstAt, instance, fromSequence, toSequence } = told;
    if (fromSequence !== null) {
      const sha256 = createHash('sha256').update(fs.readFileSync(this.openPath)).digest('hex');
      const name = `${this.base}.${firstAt.slice(0, HOUR).replaceAll('-', '')}Z.${instance}.${fromSequence}-${toSequence}.xml.gz`;
      fs.renameSync(this.openPath, name);
      const file = { ...told, file: path.basename(name), fromSequence, sha256 };
      this.index = { ...this.index, files: [...this.index.files, file] };
    } else fs.rmSync(this.openPath);
    this.open = null;
    fs.closeSync(handle);
    this.write();
  }

  private write(): void {
    const name = `${this.base}.json`;
    const handle = fs.openSync(`${name}.new`, 'w', 0o640);
    fs.writeFileSync(handle, `${JSON.stringify(this.index, null, 2)}\n`);
    fs.fsyncSync(handle);
    fs.closeSync(handle);
    fs.renameSync(`${name}.new`, name);
  }

  /** Takes up what a cut left: a file that was named and not noted, and one that is still open. */
  private recover(): void {
    const noted = new Set(this.index.files.map(({ file }) => file));
    const [folder, stem] = [path.dirname(this.base), `${path.basename(this.base)}.`];
    const whole = /^\d{8}T\d\dZ\.[^.]+\.\d+-\d+\.xml\.gz$/;
    for (const file of fs.readdirSync(folder).sort()) {
      if (noted.has(file) || !file.startsWith(stem) || !whole.test(file.slice(stem.length))) continue;
      const bytes = fs.readFileSync(path.join(folder, file));
      const told = this.takeUp(wholeMembers(bytes));
      if (!told) continue;
      const { hour: _, fromSequence, ...rest } = told;
      const sha256 = createHash('sha256').update(bytes).digest('hex');
      this.index = {
        ...this.index,
        files: [...this.index.files, { ...rest, file, fromSequence: fromSequence!, sha256 }],
      };
    }
    if (!fs.existsSync(this.openPath)) return;
    const told = this.takeUp(wholeMembers(fs.readFileSync(this.openPath)));
    if (!told) {
      fs.rmSync(this.openPath);
      return;
    }
    const handle = fs.openSync(this.openPath, 'r+');
    fs.ftruncateSync(handle, told.bytes);
    this.open = { ...told, handle };
    // Another hour may have begun, or another instance: the next document decides.
  }

  /** What a file tells by its documents; the newest says where the next request goes on. */
  private takeUp(members: readonly GzipMember[]): Omit<OpenFile, 'handle'> | undefined {
    let open: Omit<OpenFile, 'handle'> | undefined;
    for (const { text, at, bytes } of members) {
      const read = readDocument(text);
      open ??= {
        ...{ hour: at.slice(0, HOUR), instance: read.instance, fromSequence: null, toSequence: 0 },
        ...{ observations: 0, documents: 0, firstAt: at, lastAt: at, bytes: 0 },
      };
      count(open, read.sequences, bytes, at);
      this.index = { ...this.index, next: { instance: read.instance, sequence: read.nextSequence } };
    }
    return open;
  }
}

function count(open: Omit<OpenFile, 'handle'>, sequences: readonly number[], bytes: number, at: string): void {
  open.fromSequence ??= sequences[0]!;
  open.toSequence = sequences.at(-1)!;
  open.observations += sequences.length;
  open.documents += 1;
  open.lastAt = at;
  open.bytes += bytes;
}

/** @throws BadInputError while another process of this machine records there. */
function takeLock(file: string): void {
  const pid = fs.existsSync(file) ? Number(fs.readFileSync(file, 'utf8')) : Number.NaN;
  if (pid > 0 && pid !== process.pid && !isGone(pid)) {
    const expected = 'one recorder for each recording';
    const remedy = 'end the other one, or give this recording another name by --out';
    throw new BadInputError([
      { code: 'recording', file, found: `process ${pid}, which records there`, expected, remedy },
    ]);
  }
  fs.writeFileSync(file, String(process.pid));
}

function readIndex(file: string, agent: string): RecordingIndex {
  if (!fs.existsSync(file)) return { format: 1, agent, next: null, files: [], lost: [] };
  const refuse = (found: string): never => {
    const expected = `the index of a recording of ${agent}`;
    throw new BadInputError([
      { code: 'recording', file, found, expected, remedy: 'give the recording another name by --out' },
    ]);
  };
  let index: RecordingIndex;
  try {
    index = Index.parse(JSON.parse(fs.readFileSync(file, 'utf8')));
  } catch (error) {
    return refuse(error instanceof SyntaxError ? 'what is no JSON' : 'a JSON of another form');
  }
  return index.agent === agent ? index : refuse(`a recording of ${index.agent}`);
}
