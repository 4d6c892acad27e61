import { MOST } from '../base/limits.js';
import { bytesOf, leastBytes, type PlyElement, type PlyHeader, type PlyType, pointsOf } from './ply-header.js';
import type { PointBlocks } from './point-block.js';
import { fail, ShapeFaultError } from './shape-fault.js';
import { coordinate, TextLines } from './text-lines.js';

/** Takes what follows the header of a PLY file in chunks of any size, and gives its points. */
export interface PlyBody {
  push(chunk: Buffer): void;
  /** Ends the reading where rows are missing. */
  end(): void;
}

/**
 * @param bytes of the whole file: a header that promises more than there is ends the reading before anything is kept.
 */
export function plyBody(header: PlyHeader, bytes: number, points: PointBlocks): PlyBody {
  pointsOf(header);
  const { form, elements } = header;
  // Of a text the last line end may be missing; a value has one character and what parts it from the next.
  const leastOf = (element: PlyElement) =>
    form === 'ascii' ? Math.max(1, 2 * element.properties.length) : leastBytes(element);
  const least = header.bytes + elements.reduce((sum, element) => sum + element.rows * leastOf(element), 0);
  if (least - (form === 'ascii' ? 1 : 0) > bytes) {
    const rows = elements.map(({ name, rows: count }) => `${count} of ${name}`).join(', ');
    return fail({
      code: 'ply-count',
      line: 1,
      found: `${bytes} bytes, and a header that says ${rows}`,
      expected: `at least ${least} bytes`,
    });
  }
  return form === 'ascii' ? new TextBody(header, points) : new BinaryBody(header, points);
}

/** Elements one behind the other, row by row. */
class Rows {
  private place = 0;
  private done = 0;

  constructor(private readonly elements: readonly PlyElement[]) {
    this.skipEmpty();
  }

  /** The element of the row that comes; undefined when all rows were read. */
  get element(): PlyElement | undefined {
    return this.elements[this.place];
  }

  get told(): string {
    return `row ${this.done + 1} of ${this.element?.name}`;
  }

  next(): void {
    this.done += 1;
    if (this.done < this.element!.rows) return;
    this.place += 1;
    this.done = 0;
    this.skipEmpty();
  }

  private skipEmpty(): void {
    while (this.element?.rows === 0) this.place += 1;
  }
}

class TextBody implements PlyBody {
  private readonly rows: Rows;
  private readonly lines: TextLines;

  constructor(header: PlyHeader, points: PointBlocks) {
    const { element, at } = pointsOf(header);
    const [x, y, z] = at as [number, number, number];
    this.rows = new Rows(header.elements);
    this.lines = new TextLines((text, line) => {
      const words = text.trim().split(/[ \t]+/);
      if (words[0] === '') return;
      const row = this.rows.element;
      if (row === undefined) {
        const expected = 'the end of the file: the header names no more rows';
        return fail({ code: 'ply-count', line, found: JSON.stringify(text.slice(0, 40)), expected });
      }
      const wanted = valuesOf(row, words);
      if (words.length !== wanted) {
        const expected = `${wanted} values in ${this.rows.told}`;
        fail({ code: 'ply-row', line, found: `${words.length} values`, expected });
      }
      if (row === element) {
        const place = (index: number) => words[wordAt(row, words, index)];
        points.add(coordinate(place(x), line), coordinate(place(y), line), coordinate(place(z), line));
      }
      this.rows.next();
    }, header.lines);
  }

  push(chunk: Buffer): void {
    this.lines.push(chunk);
  }

  end(): void {
    this.lines.end();
    refuseMissing(this.rows);
  }
}

/** The word at which the value of a property begins: lists before it are as long as they say. */
function wordAt({ properties }: PlyElement, words: readonly string[], property: number): number {
  let at = 0;
  for (let index = 0; index < property; index += 1)
    at += properties[index]!.count === undefined ? 1 : 1 + listLength(words[at]);
  return at;
}

const valuesOf = (element: PlyElement, words: readonly string[]): number =>
  wordAt(element, words, element.properties.length);

/** A length that is none leaves too few words, which is told. */
const listLength = (text: string | undefined): number => (/^\d{1,9}$/.test(text ?? '') ? Number(text) : 0);

function refuseMissing(rows: Rows): void {
  if (rows.element === undefined) return;
  const found = `the end of the file before ${rows.told}`;
  fail({ code: 'shape-cut', found, expected: 'all rows that the header names' });
}

const READ: Readonly<Record<PlyType, (view: DataView, at: number, little: boolean) => number>> = {
  char: (view, at) => view.getInt8(at),
  int8: (view, at) => view.getInt8(at),
  uchar: (view, at) => view.getUint8(at),
  uint8: (view, at) => view.getUint8(at),
  short: (view, at, little) => view.getInt16(at, little),
  int16: (view, at, little) => view.getInt16(at, little),
  ushort: (view, at, little) => view.getUint16(at, little),
  uint16: (view, at, little) => view.getUint16(at, little),
  int: (view, at, little) => view.getInt32(at, little),
  int32: (view, at, little) => view.getInt32(at, little),
  uint: (view, at, little) => view.getUint32(at, little),
  uint32: (view, at, little) => view.getUint32(at, little),
  float: (view, at, little) => view.getFloat32(at, little),
  float32: (view, at, little) => view.getFloat32(at, little),
  double: (view, at, little) => view.getFloat64(at, little),
  float64: (view, at, little) => view.getFloat64(at, little),
};

class BinaryBody implements PlyBody {
  private readonly rows: Rows;
  private readonly points: PlyElement;
  private readonly at: readonly number[];
  private readonly little: boolean;
  private rest = Buffer.alloc(0);
  /** Of the file, before what is kept of it. */
  private byte: number;

  constructor(
    header: PlyHeader,
    private readonly blocks: PointBlocks,
  ) {
    const { element, at } = pointsOf(header);
    this.points = element;
    this.at = at;
    this.rows = new Rows(header.elements);
    this.little = header.form === 'binary_little_endian';
    this.byte = header.bytes;
  }

  push(chunk: Buffer): void {
    const bytes = this.rest.length === 0 ? chunk : Buffer.concat([this.rest, chunk]);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    let at = 0;
    for (;;) {
      const row = this.rows.element;
      if (row === undefined) {
        if (at === bytes.length) break;
        const found = `${bytes.length - at} bytes or more behind the last row, from byte ${this.byte + at + 1} on`;
        throw new ShapeFaultError({
          code: 'ply-count',
          found,
          expected: 'the end of the file: the header names no more rows',
        });
      }
      const places = this.placesOf(row, view, at);
      if (places === undefined) break;
      if (row === this.points) this.addPoint(row, view, places);
      at = places.end;
      this.rows.next();
    }
    this.byte += at;
    this.rest = Buffer.from(bytes.subarray(at));
  }

  end(): void {
    refuseMissing(this.rows);
  }

  /** Where each property of a row begins and where the row ends; undefined while it is not whole. */
  private placesOf({ properties }: PlyElement, view: DataView, from: number) {
    const starts = this.starts;
    let at = from;
    for (let index = 0; index < properties.length; index += 1) {
      const { type, count } = properties[index]!;
      starts[index] = at;
      if (count === undefined) at += bytesOf(type);
      else {
        if (at + bytesOf(count) > view.byteLength) return undefined;
        const length = READ[count](view, at, this.little);
        // A row is kept until it is whole, so a length that lies must not take the file into memory.
        if (length < 0 || length * bytesOf(type) > MOST.shapeListBytes) {
          const found = `a list of ${length} values at byte ${this.byte + at + 1}, in ${this.rows.told}`;
          return fail({ code: 'ply-row', found, expected: `a list of at most ${MOST.shapeListBytes} bytes` });
        }
        at += bytesOf(count) + length * bytesOf(type);
      }
    }
    if (at > view.byteLength) return undefined;
    this.place.end = at;
    return this.place;
  }

  private readonly starts: number[] = [];
  private readonly place = { starts: this.starts, end: 0 };

  private addPoint({ properties }: PlyElement, view: DataView, { starts }: { readonly starts: number[] }): void {
    const [x, y, z] = this.at.map((property) => {
      const value = READ[properties[property]!.type](view, starts[property]!, this.little);
      if (Number.isFinite(value)) return value;
      const found = `${value} at byte ${this.byte + starts[property]! + 1}, in ${this.rows.told}`;
      return fail({ code: 'shape-number', found, expected: 'a coordinate' });
    }) as [number, number, number];
    this.blocks.add(x, y, z);
  }
}
