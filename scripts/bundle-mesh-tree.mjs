// Part of the build: puts the tree over a mesh, and what it needs of the library below it, into one file. The two packages
// come with readers, drawings and shaders for screens, which no installation needs.
import path from 'node:path';
import { build } from 'vite';
import { ROOT } from './ensure.mjs';

const ENTRY = 'mesh-tree';
const TEXT = `export { MeshBVH } from 'three-mesh-bvh/src/core/MeshBVH.js';
export { BufferAttribute, BufferGeometry } from 'three';
`;

const entry = {
  name: 'what is taken of both packages',
  resolveId: (source) => (source === ENTRY ? path.join(ROOT, ENTRY) : undefined),
  load: (id) => (id === path.join(ROOT, ENTRY) ? TEXT : undefined),
};

await build({
  configFile: false,
  root: ROOT,
  publicDir: false,
  logLevel: 'warn',
  plugins: [entry],
  ssr: { noExternal: true },
  build: {
    ssr: true,
    target: 'node20',
    outDir: path.join(ROOT, 'third-party', 'mesh-tree'),
    emptyOutDir: true,
    minify: false,
    license: { fileName: 'LICENSES.md' },
    rolldownOptions: { input: { [ENTRY]: ENTRY }, output: { format: 'cjs', entryFileNames: '[name].cjs' } },
  },
});
