import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { MOST } from '../base/limits.js';
import { readPlyHeader, tooManyPoints } from './ply-header.js';
import { plyBody } from './ply-reader.js';
import { PointBlocks } from './point-block.js';
import { fail, ofFile } from './shape-fault.js';
import { coordinate, TextLines } from './text-lines.js';

export interface PointFile {
  readonly path: string;
  /** As the person knows it, for messages. */
  readonly name: string;
  readonly form: 'ply' | 'xyz';
}

export interface ReadPoints {
  readonly points: number;
  readonly bytes: number;
  readonly sha256: string;
}

const CHUNK = 1024 * 1024;

/**
 * Reads the points of a scan as a stream, in the unit of the file.
 * @param take gets a block of coordinates and how many points are in it; it is used again afterwards.
 * @throws BadInputError that says where the file cannot be read, before more memory is taken than a block needs.
 */
export async function readPoints(
  { path, name, form }: PointFile,
  take: (coordinates: Float64Array, points: number) => void,
  onBytes: (done: number, total: number) => void = () => {},
): Promise<ReadPoints> {
  const hash = createHash('sha256');
  const { size } = await stat(path);
  const blocks = new PointBlocks(take);
  let done = 0;
  try {
    const reader = form === 'ply' ? new PlyReader(size, blocks) : new XyzReader(blocks);
    for await (const chunk of createReadStream(path, { highWaterMark: CHUNK }) as AsyncIterable<Buffer>) {
      hash.update(chunk);
      reader.push(chunk);
      done += chunk.length;
      onBytes(done, size);
    }
    reader.end();
    blocks.flush();
  } catch (error) {
    throw ofFile(error, name);
  }
  return { points: blocks.count, bytes: done, sha256: hash.digest('hex') };
}

/** The header is kept until it is whole, and then what follows is read as it says. */
class PlyReader {
  private start: Buffer | undefined = Buffer.alloc(0);
  private body: ReturnType<typeof plyBody> | undefined;

  constructor(
    private readonly size: number,
    private readonly blocks: PointBlocks,
  ) {}

  push(chunk: Buffer): void {
    if (this.body) {
      this.body.push(chunk);
      return;
    }
    this.start = Buffer.concat([this.start!, chunk]);
    const isThere = this.start.includes('end_header\n') || this.start.includes('end_header\r\n');
    if (isThere || this.start.length > MOST.shapeHeaderBytes) this.begin();
  }

  end(): void {
    if (this.body === undefined) this.begin();
    this.body!.end();
  }

  private begin(): void {
    const header = readPlyHeader(this.start!);
    this.body = plyBody(header, this.size, this.blocks);
    this.body.push(this.start!.subarray(header.bytes));
    this.start = undefined;
  }
}

/**
 * Three coordinates a line, parted by commas where one stands in the line, else by blanks or tabs; further columns, such as
 * colours, are not read. So a comma that is a decimal sign leaves what is no number.
 */
class XyzReader {
  private readonly lines: TextLines;

  constructor(private readonly blocks: PointBlocks) {
    this.lines = new TextLines((text, line) => {
      const trimmed = text.trim();
      if (trimmed === '' || trimmed.startsWith('#')) return;
      const [x, y, z] = trimmed.split(trimmed.includes(',') ? /[ \t]*,[ \t]*/ : /[ \t]+/, 3);
      blocks.add(coordinate(x, line), coordinate(y, line), coordinate(z, line));
      if (blocks.count > MOST.shapePoints) tooManyPoints(blocks.count);
    });
  }

  push(chunk: Buffer): void {
    this.lines.push(chunk);
  }

  end(): void {
    this.lines.end();
    if (this.blocks.count === 0) fail({ code: 'shape-empty', found: 'no point', expected: 'points' });
  }
}
