import { createRequire } from 'node:module';

let library: typeof import('#mesh-tree') | undefined;

/** The library is read when a tree is first asked for: most commands ask for none. */
function loaded(): typeof import('#mesh-tree') {
  library ??= createRequire(import.meta.url)('#mesh-tree') as typeof import('#mesh-tree');
  return library;
}

/** Triangles of a leaf: more of them were slower, fewer take more memory. */
const LEAF = 4;
/** Of a node, in numbers of four bytes: six of its box, and two that say what lies below it. */
const NODE = 8;
const IS_LEAF = 0xffff;

/**
 * Boxes over triangles, each over two others or over few triangles, as the library builds them and hands them over to other
 * threads: six floats of a box, least corner first, rounded outwards; behind them where the second of the two boxes
 * lies (the first comes next), or of a leaf the place of its first triangle, their number, and a mark.
 */
export class BoxTree {
  /** Triangles in the order of the leaves. */
  readonly order: Uint32Array;
  readonly boxes: Float32Array;
  private readonly below: Uint32Array;
  private readonly halves: Uint16Array;

  /** @param triangles corners of one triangle at least, three each. */
  constructor(corners: Float64Array, triangles: Uint32Array) {
    const { BufferAttribute, BufferGeometry, MeshBVH } = loaded();
    const mesh = new BufferGeometry()
      .setAttribute('position', new BufferAttribute(corners, 3))
      .setIndex(new BufferAttribute(triangles, 1));
    const tree = new MeshBVH(mesh, { indirect: true, targetLeafSize: LEAF });
    const { roots, indirectBuffer } = MeshBVH.serialize(tree, { cloneBuffers: false });
    const [nodes] = roots as [ArrayBuffer];
    this.order = Uint32Array.from(indirectBuffer);
    this.boxes = new Float32Array(nodes);
    this.below = new Uint32Array(nodes);
    this.halves = new Uint16Array(nodes);
  }

  isLeaf(node: number): boolean {
    return this.halves[node * 2 + 15] === IS_LEAF;
  }

  first(node: number): number {
    return node + NODE;
  }

  second(node: number): number {
    return node + this.below[node + 6]! * NODE;
  }

  /** Of a leaf, where its triangles stand in the order. */
  from(leaf: number): number {
    return this.below[leaf + 6]!;
  }

  count(leaf: number): number {
    return this.halves[leaf * 2 + 14]!;
  }

  /** Square of the distance of a place from a box; 0 inside. */
  squaredTo(node: number, x: number, y: number, z: number): number {
    const boxes = this.boxes;
    const x0 = boxes[node]!;
    const y0 = boxes[node + 1]!;
    const z0 = boxes[node + 2]!;
    const x1 = boxes[node + 3]!;
    const y1 = boxes[node + 4]!;
    const z1 = boxes[node + 5]!;
    const dx = x < x0 ? x0 - x : x > x1 ? x - x1 : 0;
    const dy = y < y0 ? y0 - y : y > y1 ? y - y1 : 0;
    const dz = z < z0 ? z0 - z : z > z1 ? z - z1 : 0;
    return dx * dx + dy * dy + dz * dz;
  }
}
