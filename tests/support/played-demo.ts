import fs from 'node:fs';
import path from 'node:path';
import { type DemoResult, runDemo } from '../../src/qualification/run-demo.js';
import { temporaryFolder } from './cell.js';
import { template } from './template.js';

/** A demo with what was said while it was played. */
interface PlayedDemo {
  readonly result: DemoResult;
  readonly said: readonly string[];
}

/** A copy of the demo, which is played once a run. */
export async function playedDemo(): Promise<PlayedDemo> {
  const made = await template('demo', play);
  const folder = temporaryFolder('demo');
  fs.cpSync(path.join(made, 'demo'), path.join(folder, 'demo'), { recursive: true });
  // The only path in it is its own.
  return JSON.parse(fs.readFileSync(path.join(made, 'played.json'), 'utf8').replaceAll(PLACE, folder)) as PlayedDemo;
}

const PLACE = '{folder of the copy}';

async function play(folder: string): Promise<void> {
  const said: string[] = [];
  fs.mkdirSync(folder);
  const result = await runDemo({ folder: path.join(folder, 'demo'), say: (line = '') => said.push(line) });
  fs.writeFileSync(path.join(folder, 'played.json'), JSON.stringify({ result, said }).replaceAll(folder, PLACE));
}
