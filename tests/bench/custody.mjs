// A backup of 1 GB of evidence against copying it and taking its SHA-256, and the restore of it; memory held meanwhile.
import { spawn, spawnSync } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';

const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));
const FILES = 8;
const FILE_BYTES = 128 << 20;
const RUNS = 3;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-custody-'));
  try {
    const data = path.join(folder, 'data');
    await fill(data, folder);
    const start = median(
      Array.from({ length: RUNS }, () => secondsOf(process.execPath, [CLI, '--data', data, 'status'])),
    );
    const backups = [];
    const copies = [];
    let memoryMb = 0;
    for (let number = 0; number < RUNS; number += 1) {
      const file = path.join(folder, `backup-${number}.zip`);
      copies.push(copyAndHash(data, path.join(folder, 'copy')));
      const made = await measured([CLI, '--data', data, 'backup', file]);
      backups.push(made.seconds - start);
      memoryMb = Math.max(memoryMb, made.memoryMb);
      if (number > 0) fs.rmSync(file);
    }
    const restored = await measured([
      CLI,
      '--data',
      path.join(folder, 'restored'),
      'restore',
      path.join(folder, 'backup-0.zip'),
    ]);
    const copy = median(copies);
    const ratio = (seconds) => seconds / copy;
    return [
      { name: 'backup of 1 GB', figure: ratio(median(backups)) },
      { name: 'restore of 1 GB, verified', figure: ratio(restored.seconds - start) },
      { name: 'backup and restore, most memory', figure: Math.max(memoryMb, restored.memoryMb) },
    ];
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

async function fill(data, folder) {
  const store = await Store.open(DataFolder.open(data));
  const block = randomBytes(1 << 20);
  for (let number = 0; number < FILES; number += 1) {
    const source = path.join(folder, 'source.bin');
    const handle = fs.openSync(source, 'w');
    for (let written = 0; written < FILE_BYTES; written += block.length) {
      block.writeUInt32LE(number * 1000 + written / block.length, 0);
      fs.writeSync(handle, block);
    }
    fs.closeSync(handle);
    const kept = await store.evidence.keep(source);
    await store.change('local:bench', (change) => change.evidence.add({ ...kept, fileName: `log-${number}.csv` }));
    fs.rmSync(source);
  }
  await store.close();
}

function secondsOf(command, args) {
  const begun = performance.now();
  const done = spawnSync(command, args, { stdio: 'ignore' });
  if (done.status !== 0) throw new Error(`${command} ended with ${done.status}`);
  return (performance.now() - begun) / 1000;
}

/** What an administrator would do by hand: copy the folder to the disk, and take the hash of every file. */
function copyAndHash(data, target) {
  const script = 'cp -r "$1" "$2" && sync -f "$2" && find "$1" -type f -exec sha256sum {} + > /dev/null';
  const seconds = secondsOf('sh', ['-c', script, 'sh', data, target]);
  fs.rmSync(target, { recursive: true });
  return seconds;
}

async function measured(args) {
  const begun = performance.now();
  const child = spawn(process.execPath, args, { stdio: ['ignore', 'ignore', 'inherit'] });
  let memoryMb = 0;
  const watch = setInterval(() => {
    try {
      const status = fs.readFileSync(`/proc/${child.pid}/status`, 'utf8');
      memoryMb = Math.max(memoryMb, Number(/VmHWM:\s+(\d+)/.exec(status)?.[1] ?? 0) / 1024);
    } catch {}
  }, 50);
  const code = await new Promise((resolve) => child.once('exit', resolve));
  clearInterval(watch);
  if (code !== 0) throw new Error(`${args.slice(3).join(' ')} ended with ${code}`);
  return { seconds: (performance.now() - begun) / 1000, memoryMb };
}
