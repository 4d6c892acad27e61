import path from 'node:path';
import { digestOf } from '../../src/dossier/canonical.js';
import type { Facts } from '../../src/dossier/facts.js';
import { type Cell, makeCell, siteOf, temporaryFolder, writeCell } from './cell.js';
import { openServices, type Services } from './services.js';
import { copyOfTemplate } from './template.js';

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

/** Sites that were taken in before: the next cell with such a site begins with a copy of it. */
const sites = new Set<string>();

async function takeIn(cell: Cell): Promise<Facts> {
  const data = path.join(temporaryFolder('data'), 'data');
  const site = siteOf(cell);
  const name = digestOf(site);
  if (sites.has(name)) await copyOfTemplate(`site-${name}`, (made) => takenInto(made, site, async () => {}), data);
  sites.add(name);
  return takenInto(data, cell, async ({ assessor }) => (await assessor.assess('L-1', 'local:tester')).facts);
}

async function takenInto<T>(data: string, cell: Cell, then: (services: Services) => Promise<T>): Promise<T> {
  const services = await openServices(data);
  try {
    await services.intake.run(writeCell(cell), 'local:tester');
    return await then(services);
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
