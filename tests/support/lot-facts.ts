import path from 'node:path';
import { digestOf } from '../../src/dossier/canonical.js';
import type { Facts } from '../../src/dossier/facts.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from './cell.js';
import { openServices } from './services.js';

/** The frozen facts of lot `L-1` of the cell, taken in through the store like any lot. */
export async function factsOf(spoil: (cell: Cell) => void = () => {}): Promise<Facts> {
  const cell = makeCell();
  spoil(cell);
  const name = digestOf(cell);
  if (!known.has(name)) known.set(name, await takeIn(cell));
  return structuredClone(known.get(name)!);
}

/** By what was taken in: most suites want the facts of the cell as it is. */
const known = new Map<string, Facts>();

async function takeIn(cell: Cell): Promise<Facts> {
  const services = await openServices(path.join(temporaryFolder('data'), 'data'));
  try {
    await services.intake.run(writeCell(cell), 'local:tester');
    return (await services.assessor.assess('L-1', 'local:tester')).facts;
  } finally {
    await services.store.close();
  }
}

/** Facts that a test may change at any depth. */
// biome-ignore lint/suspicious/noExplicitAny: tests spoil facts at any depth
export type Editable = any;

/** A copy of the facts with one thing changed. What people signed is by digest, and digests do not change with it. */
export function edited(facts: Facts, change: (copy: Editable) => void): Facts {
  const copy = structuredClone(facts);
  change(copy);
  return copy;
}
