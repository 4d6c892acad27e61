import { BadInputError, type Problem } from '../../src/base/errors.js';
import { readMesh } from '../../src/shape/read-mesh.js';
import { readPoints } from '../../src/shape/read-points.js';
import { temporaryFolder } from '../support/cell.js';
import { plyBinary, plyText, soupOf, stlBinary, stlText, wedge, written, xyzText } from '../support/shapes.js';

const folder = temporaryFolder('shape-files');
const POINTS = Float64Array.from([1, 2, 3, -4.5, 0.25, 1e-3, 7, 8, -9]);

async function pointsIn(content: string | Buffer, form: 'ply' | 'xyz'): Promise<number[]> {
  const found: number[] = [];
  const path = written(folder, `scan.${form}`, content);
  await readPoints({ path, name: 'a scan', form }, (block, count) => found.push(...block.subarray(0, count * 3)));
  return found;
}

async function problemOf(work: Promise<unknown>): Promise<Problem> {
  const error = await work.then(
    () => undefined,
    (raised: unknown) => raised,
  );
  expect(error).toBeInstanceOf(BadInputError);
  return (error as BadInputError).problems[0]!;
}

describe('points', () => {
  it.each<[name: string, content: string | Buffer, form: 'ply' | 'xyz']>([
    ['PLY in text', plyText(POINTS), 'ply'],
    ['PLY in text with CR LF and no last line end', plyText(POINTS).trimEnd().replaceAll('\n', '\r\n'), 'ply'],
    ['PLY, little end first', plyBinary(POINTS, true), 'ply'],
    ['PLY, big end first', plyBinary(POINTS, false), 'ply'],
    ['XYZ with blanks', xyzText(POINTS), 'xyz'],
    [
      'XYZ with tabs, comments, empty lines and colours',
      `# a scan\n\n${xyzText(POINTS).replaceAll(' ', '\t').replaceAll('\n', '\t255\t0\t0\n')}`,
      'xyz',
    ],
    ['XYZ with commas', xyzText(POINTS).replaceAll(' ', ', '), 'xyz'],
  ])('are read from %s', async (_name, content, form) => {
    expect(await pointsIn(content, form)).toEqual([...POINTS]);
  });

  it('are read byte by byte as the format says: types of both names, lists before them, faces behind', async () => {
    const head = Buffer.from(
      'ply\nformat binary_big_endian 1.0\nobj_info a test\nelement before 2\nproperty list uchar short some\n' +
        'element vertex 2\nproperty uint8 mark\nproperty int16 x\nproperty float32 y\nproperty list uint8 char more\n' +
        'property double z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n',
    );
    const before = [0x00, 0x02, 0x00, 0x01, 0x00, 0x02];
    const first = [0x07, 0xff, 0xfe, 0x3f, 0xc0, 0x00, 0x00, 0x01, 0x55, 0xc0, 0x08, 0, 0, 0, 0, 0, 0];
    const second = [0x07, 0x01, 0x00, 0xbf, 0x00, 0x00, 0x00, 0x00, 0x40, 0x59, 0, 0, 0, 0, 0, 0];
    const face = [0x03, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 1];
    const bytes = Buffer.concat([head, Buffer.from([...before, ...first, ...second, ...face])]);
    expect(await pointsIn(bytes, 'ply')).toEqual([-2, 1.5, -3, 256, -0.5, 100]);
    expect(await pointsIn(bytes.subarray(0, bytes.length), 'ply')).toHaveLength(6);
    expect((await problemOf(pointsIn(bytes.subarray(0, -1), 'ply'))).found).toMatch(/row 1 of face/);
  });

  const head = (rows: number) => plyText(POINTS).split('\n', 7).join('\n').replace('vertex 3', `vertex ${rows}`);
  it.each<[name: string, content: string | Buffer, form: 'ply' | 'xyz', told: Partial<Problem>]>([
    ['no PLY', 'solid x\n', 'ply', { code: 'ply-magic', line: 1 }],
    ['an empty PLY', '', 'ply', { code: 'ply-magic', line: 1 }],
    ['a header without end', 'ply\nformat ascii 1.0\n', 'ply', { code: 'ply-header' }],
    ['another version', plyText(POINTS).replace('1.0', '2.0'), 'ply', { code: 'ply-header', line: 2 }],
    ['an unknown type', plyText(POINTS).replace('double y', 'half y'), 'ply', { code: 'ply-header', line: 6 }],
    ['no z', plyText(POINTS).replace('double z', 'double q'), 'ply', { code: 'ply-points', found: 'x, y, q' }],
    ['no point', `${head(0)}\nend_header\n`, 'ply', { code: 'shape-empty' }],
    [
      'a count that the file cannot hold',
      plyText(POINTS).replace('vertex 3', 'vertex 40000000'),
      'ply',
      { code: 'ply-count' },
    ],
    [
      'a count beyond the limit',
      plyText(POINTS).replace('vertex 3', 'vertex 90000000'),
      'ply',
      { code: 'shape-points' },
    ],
    ['a count too small', plyText(POINTS).replace('vertex 3', 'vertex 2'), 'ply', { code: 'ply-count', line: 11 }],
    ['a row cut short', plyText(POINTS).replace('7 8 -9', '7 8'), 'ply', { code: 'ply-row', line: 11 }],
    ['binary cut in the middle', plyBinary(POINTS).subarray(0, -9), 'ply', { code: 'ply-count', line: 1 }],
    [
      'binary with more than it says',
      Buffer.concat([plyBinary(POINTS), Buffer.alloc(3)]),
      'ply',
      { code: 'ply-count' },
    ],
    ['NaN in text', xyzText(POINTS).replace('0.25', 'nan'), 'xyz', { code: 'shape-number', line: 2, found: '"nan"' }],
    ['an infinity in text', xyzText(POINTS).replace('0.25', '1e999'), 'xyz', { code: 'shape-number', line: 2 }],
    ['hexadecimal digits', xyzText(POINTS).replace('0.25', '0x10'), 'xyz', { code: 'shape-number', line: 2 }],
    ['decimal commas', '1,5 2,5 3,5\n', 'xyz', { code: 'shape-number', line: 1, found: '"5 2"' }],
    ['decimal commas between tabs', '1,5\t2,5\t3,5\n', 'xyz', { code: 'shape-number', line: 1 }],
    [
      'rows of nothing without end',
      `${head(1).replace('format ascii', 'format binary_little_endian')}\nelement mark 999999999999999\nend_header\n`,
      'ply',
      { code: 'ply-header', found: '999999999999999 rows of mark, which has no property' },
    ],
    [
      'a list that says it goes on for gigabytes',
      Buffer.concat([
        Buffer.from(
          `${head(1).replace('format ascii', 'format binary_big_endian')}\nelement face 1\nproperty list uint int of\nend_header\n`,
        ),
        Buffer.alloc(24),
        Buffer.from([0xff, 0xff, 0xff, 0xff]),
        Buffer.alloc(50),
      ]),
      'ply',
      { code: 'ply-row', expected: 'a list of at most 65536 bytes' },
    ],
    ['two coordinates', '1 2\n', 'xyz', { code: 'shape-number', line: 1 }],
    ['no point at all', '# nothing\n', 'xyz', { code: 'shape-empty' }],
    ['a line without end', `1 2 3 ${'0'.repeat(10_000)}`, 'xyz', { code: 'shape-line', line: 1 }],
  ])('are refused from %s', async (_name, content, form, told) => {
    const problem = await problemOf(pointsIn(content, form));
    expect(problem).toMatchObject({ file: 'a scan', ...told });
  });

  it('says the byte of a NaN in binary', async () => {
    const bytes = plyBinary(Float64Array.from([...POINTS.subarray(0, 4), Number.NaN, ...POINTS.subarray(5)]));
    const at = bytes.length - 72 + 4 * 8 + 1;
    expect((await problemOf(pointsIn(bytes, 'ply'))).found).toBe(`NaN at byte ${at}, in row 2 of vertex`);
  });
});

describe('meshes', () => {
  const mesh = wedge();
  const read = (content: string | Buffer) => readMesh({ path: written(folder, 'part.stl', content), name: 'a mesh' });

  it.each<[string, string | Buffer]>([
    ['text', stlText(mesh)],
    [
      'text in capitals, with tabs and CR LF',
      stlText(mesh).toUpperCase().replaceAll('    ', '\t').replaceAll('\n', '\r\n'),
    ],
    ['binary', stlBinary(mesh)],
    ['binary with a head that begins with solid', Buffer.concat([Buffer.from('solid'), stlBinary(mesh).subarray(5)])],
  ])('are read from STL in %s', async (_name, content) => {
    expect((await read(content)).coordinates).toEqual(soupOf(mesh));
  });

  it('are read byte by byte as the format says, with the normal that is stored', async () => {
    const bytes = Buffer.alloc(134);
    bytes.set([0x01, 0x00, 0x00, 0x00], 80);
    // Normal 0 0 -1; corners 0 0 0, 1 0 0 and 0 2 0: the order says the other side.
    bytes.set([0x00, 0x00, 0x80, 0xbf], 92);
    bytes.set([0x00, 0x00, 0x80, 0x3f], 108);
    bytes.set([0x00, 0x00, 0x00, 0x40], 124);
    const { coordinates, againstNormal } = await read(bytes);
    expect([...coordinates]).toEqual([0, 0, 0, 1, 0, 0, 0, 2, 0]);
    expect(againstNormal).toEqual([0]);
  });

  const claims = (count: number) => {
    const bytes = stlBinary(mesh);
    bytes.writeUInt32LE(count, 80);
    return bytes;
  };
  it.each<[name: string, content: string | Buffer, told: Partial<Problem>]>([
    ['an empty file', '', { code: 'stl-head' }],
    ['no triangle in binary', claims(0).subarray(0, 84), { code: 'shape-empty' }],
    ['no triangle in text', 'solid x\nendsolid x\n', { code: 'shape-empty' }],
    ['a hundred million triangles by its head', claims(100_000_000), { code: 'mesh-triangles' }],
    ['a head that says too few', claims(3), { code: 'stl-count' }],
    ['binary cut in the middle', stlBinary(mesh).subarray(0, -30), { code: 'shape-cut' }],
    ['text cut in the middle', stlText(mesh).slice(0, 200), { code: 'stl-line', line: 12 }],
    ['text without its end', stlText(mesh).replace(/endsolid.*\n/, ''), { code: 'shape-cut', line: 30 }],
    ['a corner too few', stlText(mesh).replace(/ +vertex 0 0 0\n/, ''), { code: 'stl-line', line: 6 }],
    ['two solids', stlText(mesh) + stlText(mesh), { code: 'stl-line', line: 31 }],
    ['NaN in text', stlText(mesh).replace('vertex 40', 'vertex nan'), { code: 'shape-number' }],
    [
      'NaN in binary',
      Buffer.concat([stlBinary(mesh).subarray(0, -6), Buffer.from([0, 0, 0xc0, 0x7f, 0, 0])]),
      { code: 'shape-number' },
    ],
  ])('are refused from %s', async (_name, content, told) => {
    expect(await problemOf(read(content))).toMatchObject({ file: 'a mesh', ...told });
  });
});
