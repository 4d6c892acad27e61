import { spawn } from 'node:child_process';
import { createWriteStream, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';

/**
 * A scan against a mesh of 200 000 triangles, with both alignments, each in a process of its own; and how late the event
 * loop of the process comes that waits for the worker. LOTWRIGHT_BENCH_POINTS sets the points (1000000,10000000).
 */

const [FIRST, ...MORE] = (process.env.LOTWRIGHT_BENCH_POINTS ?? '1000000,10000000').split(',').map(Number);
const [AROUND, ACROSS] = [400, 250];
const [MAJOR, MINOR] = [30, 10];

export async function run() {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-shape-'));
  try {
    const mesh = path.join(folder, 'part.stl');
    writeFileSync(mesh, stl());
    const first = await measured(folder, mesh, FIRST);
    const results = [
      { name: 'shape, a million points', figure: first.seconds },
      { name: 'shape, resident memory whatever the points', of: `${FIRST} points`, figure: first.residentMb },
      { name: 'shape, event loop beside the worker, p99', figure: first.p99Ms },
    ];
    for (const points of MORE) {
      const { residentMb } = await measured(folder, mesh, points);
      results.push({ name: 'shape, resident memory whatever the points', of: `${points} points`, figure: residentMb });
    }
    return results;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function measured(folder, mesh, points) {
  const scan = path.join(folder, `scan-${points}.ply`);
  await pipeline(Readable.from(ply(points)), createWriteStream(scan));
  const child = spawn(process.execPath, [fileURLToPath(import.meta.url), scan, mesh], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let output = '';
  for await (const chunk of child.stdout) output += chunk;
  rmSync(scan);
  return JSON.parse(output);
}

async function measure(scan, mesh) {
  const { shapeOfFile } = await import('../../dist/shape/shape-of-file.js');
  const delay = monitorEventLoopDelay({ resolution: 1 });
  const begun = performance.now();
  delay.enable();
  let told = 0;
  const report = await shapeOfFile(
    {
      points: { file: { path: scan, name: 'scan.ply', form: 'ply' }, mm: 1 },
      mesh: { file: { path: mesh, name: 'part.stl' }, mm: 1 },
      zones: [{ zone: 'half', box: [0, -50, -20, 50, 50, 20], outsideMm: 0.1 }],
      judged: 'least squares',
    },
    () => {
      told += 1;
    },
  );
  delay.disable();
  if (told === 0 || report.mesh.triangles !== 2 * AROUND * ACROSS) throw new Error('nothing was measured');
  console.log(
    JSON.stringify({
      seconds: (performance.now() - begun) / 1000,
      residentMb: process.resourceUsage().maxRSS / 1000,
      p99Ms: delay.percentile(99) / 1e6,
    }),
  );
}

const ring = (u, v, off) => {
  const radius = MAJOR + (MINOR + off) * Math.cos(v);
  return [radius * Math.cos(u), radius * Math.sin(u), (MINOR + off) * Math.sin(v)];
};

function stl() {
  const bytes = Buffer.alloc(84 + AROUND * ACROSS * 2 * 50);
  bytes.writeUInt32LE(AROUND * ACROSS * 2, 80);
  const corner = (i, j) => ring((2 * Math.PI * i) / AROUND, (2 * Math.PI * j) / ACROSS, 0);
  let at = 84;
  const triangle = (corners) => {
    corners.flat().forEach((value, k) => {
      bytes.writeFloatLE(value, at + 12 + k * 4);
    });
    at += 50;
  };
  for (let i = 0; i < AROUND; i += 1)
    for (let j = 0; j < ACROSS; j += 1) {
      const [k, l] = [(i + 1) % AROUND, (j + 1) % ACROSS];
      triangle([corner(i, j), corner(k, j), corner(k, l)]);
      triangle([corner(i, j), corner(k, l), corner(i, l)]);
    }
  return bytes;
}

/** Points all about the ring in no order, up to 0.2 mm off it, and all of it moved a little. */
function* ply(points) {
  const axes = ['x', 'y', 'z'].map((axis) => `property float ${axis}\n`).join('');
  yield Buffer.from(`ply\nformat binary_little_endian 1.0\nelement vertex ${points}\n${axes}end_header\n`);
  let state = 1;
  const random = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  for (let done = 0; done < points; ) {
    const count = Math.min(50_000, points - done);
    const block = Buffer.alloc(count * 12);
    for (let index = 0; index < count; index += 1) {
      const place = ring(2 * Math.PI * random(), 2 * Math.PI * random(), (random() - 0.5) * 0.4);
      for (let axis = 0; axis < 3; axis += 1) block.writeFloatLE(place[axis] + 0.05, index * 12 + axis * 4);
    }
    done += count;
    yield block;
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await measure(process.argv[2], process.argv[3]);
