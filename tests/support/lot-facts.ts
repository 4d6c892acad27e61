import path from 'node:path';
import { digestOf } from '../../src/dossier/canonical.js';
import type { Facts } from '../../src/dossier/facts.js';
import { type Cell, makeCell, siteOf, temporaryFolder, writeCell } from './cell.js';
import { atMoment, SITE_DAY } from './clock-ahead.js';
import { openServices, type Services } from './services.js';
import { copyOfTemplate } from './template.js';

/**
 * The frozen facts of lot `L-1` of the cell, taken in through the store like any lot: its site first.
 * @param togetherAt when site and lot come in at one time, since the site tells of later days.
 */
export async function factsOf(spoil: (cell: Cell) => void = () => {}, togetherAt?: string): Promise<Facts> {
  const cell = makeCell();
  spoil(cell);
  const name = digestOf(cell);
  if (!known.has(name)) known.set(name, await (togetherAt ? takeInAt(cell, togetherAt) : takeIn(cell)));
  return structuredClone(known.get(name)!);
}

/** By what was taken in: most suites want the facts of the cell as it is. */
const known = new Map<string, Facts>();

/** Cells with one site begin with copies of it. */
async function takeIn(cell: Cell): Promise<Facts> {
  const data = path.join(temporaryFolder('data'), 'data');
  const site = siteOf(cell);
  const make = (made: string) => atMoment(SITE_DAY, () => takenInto(made, site, async () => {}));
  await copyOfTemplate(`site-${digestOf(site)}`, make, data);
  return takenInto(data, cell, assessed);
}

const takeInAt = (cell: Cell, moment: string): Promise<Facts> =>
  atMoment(moment, () => takenInto(path.join(temporaryFolder('data'), 'data'), cell, assessed));

const assessed = async ({ assessor }: Services): Promise<Facts> => (await assessor.assess('L-1', 'local:tester')).facts;

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
