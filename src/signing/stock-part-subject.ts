import { stockPartSubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import { tradeUnit } from '../dossier/unit-text.js';
import { findAddress } from '../report/page-addresses.js';
import { STOCK_SHOWN, THINGS } from '../report/phrases/things.js';
import type { Reads } from '../store/repositories.js';
import type { Signable } from './signable.js';
import type { Thing } from './thing.js';

/**
 * A stock part as it is to be accepted: what it is, what it was, and how its face is made ready.
 * @throws NotFoundError when there is no such part.
 */
export async function stockPartToSign({ entries }: Reads, { key }: Thing): Promise<Signable> {
  const { body } = await entries.currentOrThrow('stock-part', key);
  const { material, receipt, implant, why, mesh, lines = [], takenOff = [] } = body;
  const { zone, preparation, roughness, prepared = [] } = body.interface;
  const said: [string, string | undefined][] = [
    [STOCK_SHOWN.material, material],
    [STOCK_SHOWN.receipt, receipt],
    [STOCK_SHOWN.implant, implant],
    [STOCK_SHOWN.why, why],
    [STOCK_SHOWN.mesh, mesh && (mesh.sha256 === undefined ? mesh.file : `${mesh.file}, SHA-256 ${mesh.sha256}`)],
    [STOCK_SHOWN.face, `${zone}: ${preparation}`],
    [STOCK_SHOWN.roughness, roughness && `${roughness.value} ${tradeUnit(roughness.ucum)}`],
    ...lines.map(({ property, value, ucum }): [string, string] => [property, `${value} ${tradeUnit(ucum)}`]),
    ...takenOff.map(({ implant: off, at, by, how }): [string, string] => [
      STOCK_SHOWN.takenOff,
      `${off}, ${timeText(at)}, ${by}: ${how}`,
    ]),
    ...prepared.map(({ by, at }): [string, string] => [STOCK_SHOWN.prepared, `${by}, ${timeText(at)}`]),
  ];
  return {
    subject: stockPartSubject(body),
    title: THINGS.stockPart(key),
    lot: null,
    shows: said.flatMap(([name, value]): [string, string][] => (value === undefined ? [] : [[name, value]])),
    page: findAddress(key),
    doers: { preparer: prepared.map(({ by }) => by) },
  };
}
