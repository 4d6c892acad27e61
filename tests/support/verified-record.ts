import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Statement } from '../../src/dossier/statement.js';
import type { CellOnPages } from './cell-on-pages.js';
import { openServices } from './services.js';

const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));

/**
 * Issues the record of a lot on its page, has `verify` read it apart from the installation, and holds that it is final.
 * @returns meaning, person and units of each decision in it.
 */
export async function issueAndVerify(
  site: CellOnPages,
  person: string,
  lot: string,
  units: readonly string[],
): Promise<[string, string, readonly string[]][]> {
  const hand = site.hand(person);
  await hand.open(`${site.url}/lots/${lot}/papers`);
  await hand.press(`form[action="/lots/${lot}/records"] button`);
  await hand.atEndOfJob();
  const answer = await hand.page.context().request.get(`${site.url}/lots/${lot}/record.pdf`);
  expect(answer.headers()['content-type']).toContain('application/pdf');
  const file = path.join(path.dirname(site.folder), 'record.pdf');
  fs.writeFileSync(file, await answer.body());
  // Throws unless it ends with 0.
  const said = JSON.parse(execFileSync(process.execPath, [CLI, '--json', 'verify', file], { encoding: 'utf8' }));
  expect(said).toMatchObject({
    answer: 'issuer not compared',
    units: units.map((serial) => ({ serial, verdict: 'conforms' })),
  });
  const step = (name: string) => said.steps.find((one: { step: string }) => one.step === name);
  expect(step('signatures')).toMatchObject({ outcome: 'holds' });
  expect(step('seal')).toMatchObject({ outcome: 'holds' });
  expect(said.steps.filter(({ outcome }: { outcome: string }) => outcome === 'does not hold')).toEqual([]);
  const services = await openServices(site.folder);
  const [record] = await services.store.read.records.ofLot(lot);
  await services.store.close();
  const enclosure = JSON.parse(record!.enclosure);
  expect(enclosure.record).toEqual({ number: `LR-${lot}`, revision: 1, draft: false, final: true });
  return enclosure.signatures.map(({ statement }: { statement: Statement }) => [
    statement.meaning,
    statement.person.code,
    statement.units,
  ]);
}
