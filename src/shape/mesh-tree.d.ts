/** What is used of the tree over a mesh, which the build puts into one file (scripts/bundle-mesh-tree.mjs). */
declare module '#mesh-tree' {
  export class BufferAttribute {
    constructor(values: Float64Array | Uint32Array, valuesOfOne: number);
  }

  export class BufferGeometry {
    setAttribute(name: 'position', values: BufferAttribute): this;
    setIndex(corners: BufferAttribute): this;
  }

  /** A tree of boxes over the triangles of a mesh. */
  export class MeshBVH {
    constructor(mesh: BufferGeometry, options: { readonly indirect: true; readonly targetLeafSize: number });
    static serialize(
      tree: MeshBVH,
      options: { readonly cloneBuffers: false },
    ): {
      /** Nodes of 32 bytes: see `src/shape/box-tree.ts`. */
      readonly roots: readonly ArrayBuffer[];
      /** Triangles in the order of the leaves. */
      readonly indirectBuffer: Uint32Array | Uint16Array;
    };
  }
}
