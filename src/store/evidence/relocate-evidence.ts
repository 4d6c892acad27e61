import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../../base/errors.js';
import { ENGINE } from '../chosen-engine.js';
import type { Lease } from '../leases.js';
import type { Store } from '../store.js';
import { EvidenceFolder } from './evidence-folder.js';
import { hashOfFile } from './file-fault.js';
import { EvidenceObjects } from './objects/evidence-objects.js';
import { objectPlace } from './objects/object-place.js';
import { syncFolder } from './plain-file.js';

export interface RelocatedEvidence {
  /** Where the evidence lies now. */
  readonly address: string;
  readonly files: number;
  readonly bytes: number;
  /** Name of the former folder. */
  readonly kept: string;
}

/**
 * Moves the evidence of a data folder to an object store: each file is put there, and read again from there, before the folder
 * names the store. What is there already with the same bytes is gone on from. The former folder stays, and nothing opens it.
 * @param address as `objectPlace` takes it.
 * @throws AppError CONFLICT when the evidence is no more in the folder, BUSY while a service runs on it, ALTERED when a file is not
 *   the one that was received, here or there, STORAGE when the store does not take it: then the folder stays as it was.
 */
export async function relocateEvidence(store: Store, address: string): Promise<RelocatedEvidence> {
  const { folder } = store;
  if (folder.evidenceStore !== undefined) {
    throw new AppError('CONFLICT', `the evidence of ${folder.path} lies at ${folder.evidenceStore} already`);
  }
  const place = objectPlace(address, '--evidence');
  const service = ENGINE.takeServiceLock(folder.path);
  let alone: Lease | undefined;
  try {
    // On another machine, too.
    if (store.isShared) alone = await store.instances.enterAlone();
    const from = new EvidenceFolder(folder.evidence);
    // What the service will read it by is made when the folder of now is away.
    const scratch = path.join(folder.path, 'evidence.moving');
    const to = new EvidenceObjects(place, scratch);
    const moved = new Map<string, number>();
    const moveNew = async () => {
      for (const name of await from.list()) if (!moved.has(name)) moved.set(name, await move(from, to, name));
    };
    try {
      await to.reach();
      await moveNew();
      // Here nobody records any evidence; whoever has the folder open finds afterwards that it was moved.
      const kept = await store.change('program', async () => {
        await moveNew();
        await dropGone(from, to, moved);
        await refuseForeign(to, moved);
        return leave(folder.path, folder.evidence, () => folder.with({ evidence: place.address }));
      });
      // A redaction takes bytes after its change: now none finds the former folder any more.
      await dropGone(new EvidenceFolder(path.join(folder.path, kept)), to, moved);
      const bytes = [...moved.values()].reduce((sum, size) => sum + size, 0);
      return { address: place.address, files: moved.size, bytes, kept };
    } finally {
      fs.rmSync(scratch, { recursive: true, force: true });
    }
  } finally {
    await alone?.give();
    service.close();
  }
}

/** @returns how many bytes it has. */
async function move(from: EvidenceFolder, to: EvidenceObjects, name: string): Promise<number> {
  const file = from.placeOf(name);
  const { size } = fs.statSync(file);
  await to.putOne(name, file);
  const fault = await to.faultOf(name, await hashOfFile(file));
  if (fault === undefined) return size;
  throw new AppError('ALTERED', `${name} ${fault.code} where it was put: the folder stays as it was`, { name });
}

/** What was redacted or set apart after it was moved must not stay there under its former name. */
async function dropGone(from: EvidenceFolder, to: EvidenceObjects, moved: Map<string, number>): Promise<void> {
  const left = new Set(await from.list());
  for (const name of [...moved.keys()].filter((one) => !left.has(one))) {
    await to.remove(name);
    moved.delete(name);
  }
}

/** A file too many there would be one that was removed here, or one of another installation. */
async function refuseForeign(to: EvidenceObjects, moved: ReadonlyMap<string, number>): Promise<void> {
  const foreign = (await to.list()).filter((name) => !moved.has(name));
  if (foreign.length === 0) return;
  throw new AppError(
    'CONFLICT',
    `there are ${foreign.length} files under that address which this folder does not have, such as ${foreign[0]}: name an empty place. The folder stays as it was`,
  );
}

/** @param name writes down where evidence lies from now on. */
function leave(folder: string, evidence: string, name: () => void): string {
  const kept = `${evidence}.moved`;
  if (fs.existsSync(kept)) throw new AppError('CONFLICT', `${kept} is there already: put it elsewhere first`);
  // Named first: a folder without its evidence would be damaged, evidence in two places is not.
  name();
  fs.renameSync(evidence, kept);
  syncFolder(folder);
  fs.mkdirSync(path.join(evidence, 'incoming'), { recursive: true, mode: 0o700 });
  fs.chmodSync(kept, 0o500);
  return path.basename(kept);
}
