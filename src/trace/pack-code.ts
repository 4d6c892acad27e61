import { AppError } from '../base/errors.js';
import type { Reads } from '../store/repositories.js';
import type { Identified } from './identifiers.js';

/**
 * A scanned code says more than the serial or the lot that is looked for: what it says has to be of the same pack.
 * @throws AppError BAD_INPUT where its lot is not that of the serial, or its device is none that the family ever had.
 */
export async function comparePack(read: Reads, { kind, key, saidLot, saidDevice }: Identified): Promise<void> {
  if (kind === 'implant' && saidLot !== undefined) await compareLot(read, key, saidLot);
  if (saidDevice !== undefined) await compareDevice(read, { kind, key }, saidDevice);
}

/** A serial and a lot that do not belong together are on a pack of something else. */
async function compareLot(read: Reads, serial: string, said: string): Promise<void> {
  for (const { id, kind } of await read.trace.named(serial)) {
    if (kind !== 'implant') continue;
    const { entries } = await read.trace.reach([id], 'forward');
    const lots = entries.filter((one) => one.kind === 'lot' && one.depth === 1).map(({ key }) => key);
    if (lots.includes(said)) continue;
    const known = lots.join(', ');
    throw new AppError(
      'BAD_INPUT',
      `the code says lot ${said}, and serial ${serial} is of lot ${known}: compare the pack`,
    );
  }
}

/**
 * A code of another device may carry a serial or a lot that is written as one of ours. A pack keeps the device identifier that
 * its family had when it was labelled.
 */
async function compareDevice({ entries }: Reads, { kind, key }: Pick<Identified, 'kind' | 'key'>, said: string) {
  const lot = kind === 'implant' ? (await entries.current('implant', key))?.body.lot : key;
  const family = lot === undefined ? undefined : (await entries.current('lot', lot))?.body.family;
  const revisions = family === undefined ? [] : await entries.revisions('family', family);
  const own = new Set(revisions.flatMap(({ body }) => body.udiDi ?? []));
  if (own.size === 0 || own.has(said)) return;
  throw new AppError(
    'BAD_INPUT',
    `the code is of device ${said}, and ${key} is of family ${family}, whose device identifier is ${[...own].join(' or ')}: compare the pack`,
  );
}
