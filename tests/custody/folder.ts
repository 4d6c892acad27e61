import path from 'node:path';
import { digestOf } from '../../src/dossier/canonical.js';
import { type Cell, makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';
import { copyOfTemplate } from '../support/template.js';

export const ACTOR = 'local:tester';

/** A cell with three lots, one of them assessed and with a record; and where its data folder lies. */
export async function cellWithRecord(
  cell: Cell = makeCellWithHistory(2),
): Promise<{ services: Services; data: string }> {
  const data = path.join(temporaryFolder('custody'), 'data');
  await copyOfTemplate(`recorded-${digestOf(cell)}`, (made) => makeWithRecord(cell, made), data);
  return { services: await openServices(data), data };
}

async function makeWithRecord(cell: Cell, data: string): Promise<void> {
  const services = await openServices(data);
  await services.intake.run(writeCell(cell), ACTOR);
  await services.issuer.issue('L-1', ACTOR);
  await services.store.close();
}
