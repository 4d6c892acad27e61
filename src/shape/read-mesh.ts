import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import { MOST } from '../base/limits.js';
import { fail, ofFile, ShapeFaultError } from './shape-fault.js';
import { coordinate, TextLines } from './text-lines.js';

/** Triangles one by one, as a file has them: nine coordinates each. */
export interface Triangles {
  readonly coordinates: Float64Array;
  /** Of those whose stored normal says the other side than the order of their corners. */
  readonly againstNormal: readonly number[];
  readonly sha256: string;
}

export interface MeshFile {
  readonly path: string;
  /** As the person knows it, for messages. */
  readonly name: string;
}

const HEAD = 84;
const TRIANGLE = 50;
const CHUNK = 1024 * 1024;

/**
 * Reads a mesh in the STL format, text or binary, in the unit of the file.
 * @throws BadInputError that says where the file cannot be read; what is too large is refused by its header.
 */
export async function readMesh({ path, name }: MeshFile): Promise<Triangles> {
  const hash = createHash('sha256');
  const file = await open(path);
  try {
    const { size } = await file.stat();
    const { buffer, bytesRead } = await file.read(Buffer.alloc(HEAD), 0, HEAD, 0);
    const head = buffer.subarray(0, bytesRead);
    const reader = isText(head, size) ? new TextReader() : new BinaryReader(head, size);
    for await (const chunk of createReadStream(path, { highWaterMark: CHUNK }) as AsyncIterable<Buffer>) {
      hash.update(chunk);
      reader.push(chunk);
    }
    return { ...reader.end(), sha256: hash.digest('hex') };
  } catch (error) {
    throw ofFile(error, name);
  } finally {
    await file.close();
  }
}

/** Both forms may begin with "solid": a binary one is told by its size, or by bytes that no text has. */
function isText(head: Buffer, size: number): boolean {
  if (head.length === HEAD && size === HEAD + TRIANGLE * head.readUInt32LE(80)) return false;
  return head.toString('latin1', 0, 5).toLowerCase() === 'solid' && !head.includes(0);
}

function tooManyTriangles(found: number): never {
  return fail({
    code: 'mesh-triangles',
    found: `${found} triangles`,
    expected: `at most ${MOST.shapeTriangles}`,
    remedy: 'write the mesh coarser, within a tenth of the profile',
  });
}

const noTriangle = (): never => fail({ code: 'shape-empty', found: 'no triangle', expected: 'triangles' });

/** Whether a stored normal points away from the side that the order of the corners says; none is stored as zero. */
function isAgainst(nx: number, ny: number, nz: number, c: Float64Array, at: number): boolean {
  const [ax, ay, az] = [c[at]!, c[at + 1]!, c[at + 2]!];
  const [ux, uy, uz] = [c[at + 3]! - ax, c[at + 4]! - ay, c[at + 5]! - az];
  const [vx, vy, vz] = [c[at + 6]! - ax, c[at + 7]! - ay, c[at + 8]! - az];
  return nx * (uy * vz - uz * vy) + ny * (uz * vx - ux * vz) + nz * (ux * vy - uy * vx) < 0;
}

class BinaryReader {
  private readonly coordinates: Float64Array;
  private readonly againstNormal: number[] = [];
  private rest = Buffer.alloc(0);
  private done = 0;
  private headLeft = HEAD;

  constructor(head: Buffer, size: number) {
    if (head.length < HEAD) {
      const expected = `an STL file: solid as its first word, or a head of ${HEAD} bytes`;
      throw new ShapeFaultError({ code: 'stl-head', found: `${size} bytes`, expected });
    }
    const count = head.readUInt32LE(80);
    if (count > MOST.shapeTriangles) tooManyTriangles(count);
    if (count === 0) noTriangle();
    const wanted = HEAD + TRIANGLE * count;
    if (size !== wanted) {
      fail({
        code: size < wanted ? 'shape-cut' : 'stl-count',
        found: `${size} bytes, and a head that says ${count} triangles`,
        expected: `${wanted} bytes`,
      });
    }
    this.coordinates = new Float64Array(count * 9);
  }

  push(chunk: Buffer): void {
    const skipped = Math.min(this.headLeft, chunk.length);
    this.headLeft -= skipped;
    const bytes = Buffer.concat([this.rest, chunk.subarray(skipped)]);
    let at = 0;
    for (; at + TRIANGLE <= bytes.length; at += TRIANGLE) this.triangle(bytes, at);
    this.rest = bytes.subarray(at);
  }

  end(): Omit<Triangles, 'sha256'> {
    return { coordinates: this.coordinates, againstNormal: this.againstNormal };
  }

  private triangle(bytes: Buffer, at: number): void {
    const to = this.done * 9;
    for (let index = 0; index < 9; index += 1) {
      const value = bytes.readFloatLE(at + 12 + index * 4);
      if (!Number.isFinite(value)) {
        const byte = HEAD + this.done * TRIANGLE + 12 + index * 4 + 1;
        const found = `${value} at byte ${byte}, in triangle ${this.done + 1}`;
        fail({ code: 'shape-number', found, expected: 'a coordinate' });
      }
      this.coordinates[to + index] = value;
    }
    const normal = (axis: number) => bytes.readFloatLE(at + axis * 4);
    if (isAgainst(normal(0), normal(1), normal(2), this.coordinates, to)) this.againstNormal.push(this.done);
    this.done += 1;
  }
}

/** What each line of a facet begins with, in the order of the format. */
const FACET = ['facet normal', 'outer loop', 'vertex', 'vertex', 'vertex', 'endloop', 'endfacet'];

class TextReader {
  private coordinates = new Float64Array(9 * 1024);
  private readonly againstNormal: number[] = [];
  private count = 0;
  private step = 0;
  private corner = 0;
  private normal: number[] = [];
  private state: 'before' | 'inside' | 'behind' = 'before';
  private last = 0;
  private readonly lines = new TextLines((text, line) => this.line(text, line));

  push(chunk: Buffer): void {
    this.lines.push(chunk);
  }

  end(): Omit<Triangles, 'sha256'> {
    this.lines.end();
    if (this.state !== 'behind') {
      const expected = this.step === 0 ? 'endsolid' : FACET[this.step]!;
      fail({ code: 'shape-cut', line: this.last + 1, found: 'the end of the file', expected });
    }
    if (this.count === 0) noTriangle();
    return { coordinates: this.coordinates.slice(0, this.count * 9), againstNormal: this.againstNormal };
  }

  private line(text: string, line: number): void {
    const words = text
      .trim()
      .toLowerCase()
      .split(/[ \t]+/);
    this.last = line;
    if (words[0] === '') return;
    if (this.state === 'before' && words[0] === 'solid') this.state = 'inside';
    else if (this.state === 'inside' && this.step === 0 && words[0] === 'endsolid') this.state = 'behind';
    else if (this.state === 'inside') this.ofFacet(words, text, line);
    else this.wrong(text, line, this.state === 'before' ? 'solid' : 'the end of the file: one solid in a file');
  }

  private ofFacet(words: readonly string[], text: string, line: number): void {
    const wanted = FACET[this.step]!.split(' ');
    const values = words.slice(wanted.length);
    const isNumbers = this.step === 0 || wanted[0] === 'vertex';
    const isWanted = wanted.every((word, index) => words[index] === word) && values.length === (isNumbers ? 3 : 0);
    if (!isWanted)
      this.wrong(text, line, this.step === 0 ? 'facet normal with three numbers, or endsolid' : told(wanted));
    const numbers = values.map((value) => coordinate(value, line));
    if (this.step === 0) this.begin(numbers);
    else if (isNumbers) this.coordinates.set(numbers, this.count * 9 + this.corner++ * 3);
    this.step = (this.step + 1) % FACET.length;
    if (this.step !== 0) return;
    const [nx, ny, nz] = this.normal as [number, number, number];
    if (isAgainst(nx, ny, nz, this.coordinates, this.count * 9)) this.againstNormal.push(this.count);
    this.count += 1;
  }

  private begin(normal: number[]): void {
    this.normal = normal;
    this.corner = 0;
    if (this.count >= MOST.shapeTriangles) tooManyTriangles(this.count + 1);
    if ((this.count + 1) * 9 <= this.coordinates.length) return;
    const more = new Float64Array(this.coordinates.length * 2);
    more.set(this.coordinates);
    this.coordinates = more;
  }

  private wrong(text: string, line: number, expected: string): never {
    return fail({ code: 'stl-line', line, found: JSON.stringify(text.slice(0, 80)), expected });
  }
}

const told = (words: readonly string[]): string =>
  words[0] === 'vertex' ? 'vertex with three numbers' : words.join(' ');
