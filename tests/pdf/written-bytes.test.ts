import { WrittenBytes } from '../../src/pdf/written-bytes.js';

const BLOCK = 64 * 1024;
/** No two places that a mistake of one block or one byte could take for each other. */
const some = (length: number, from = 0): Uint8Array => Uint8Array.from({ length }, (_, at) => ((at + from) * 31) % 251);

function written(...lengths: number[]): void {
  const bytes = new WrittenBytes();
  const pieces = lengths.map((length, index) => some(length, index * 7));
  for (const piece of pieces) bytes.add(piece);
  // What was handed over in small pieces is copied: whoever wrote it may use the array again.
  const expected = Buffer.concat(pieces);
  for (const piece of pieces) if (piece.length <= BLOCK) piece.fill(255);
  const all = bytes.all();
  expect(all.length).toBe(expected.length);
  expect(all.equals(expected)).toBe(true);
}

describe('bytes of a file in the making', () => {
  it.each([0, 1, BLOCK - 1, BLOCK, BLOCK + 1, 2 * BLOCK, 2 * BLOCK + 1])(
    'are those of one piece of %d bytes',
    (length) => written(length),
  );

  it.each([
    [BLOCK - 1, 1],
    [BLOCK - 1, 2],
    [BLOCK, 1],
    [1, BLOCK - 1],
    [1, BLOCK],
    [1, BLOCK + 1, 1],
    [BLOCK + 1, BLOCK - 1, BLOCK, BLOCK + 1],
    [BLOCK, 0, BLOCK, 0, 1],
  ])('are those of all pieces in their order: %j', (...lengths) => written(...lengths));

  it('are none where nothing was written', () => expect(new WrittenBytes().all().length).toBe(0));
});
