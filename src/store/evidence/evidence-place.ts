import path from 'node:path';
import { AppError } from '../../base/errors.js';
import { DataFolder } from '../data-folder.js';
import { EvidenceFiles } from './evidence-files.js';
import { EvidenceFolder } from './evidence-folder.js';
import type { EvidencePort } from './evidence-port.js';
import { EvidenceObjects } from './objects/evidence-objects.js';
import { isSamePlace, objectPlace } from './objects/object-place.js';

/**
 * The evidence of a data folder, and the one place that says where it lies: in the folder, or in the object store that the
 * folder names; a fresh one takes the store that the surroundings name.
 * @param isFresh whether nothing is recorded yet.
 * @throws AppError CONFLICT when folder and surroundings name two places, BadInputError for what is no place.
 */
export function evidenceOf(folder: DataFolder, isFresh = false): EvidenceFiles {
  const { LOTWRIGHT_EVIDENCE: given } = process.env;
  const named = folder.evidenceStore;
  if (named !== undefined && given && !isSamePlace(named, given)) {
    throw new AppError(
      'CONFLICT',
      `the evidence of this folder lies at ${named}, and LOTWRIGHT_EVIDENCE names another place`,
    );
  }
  if (isFresh && named === undefined && given) folder.with({ evidence: objectPlace(given).address });
  const address = named ?? (isFresh ? given || undefined : undefined);
  const isMoved = () => DataFolder.open(folder.path).evidenceStore !== address;
  return new EvidenceFiles(portOf(folder, address), incomingOf(folder), isMoved, folder.waitsForDisk);
}

/** @param address of an object store; undefined for the folder itself. */
export function portOf(folder: DataFolder, address: string | undefined): EvidencePort {
  if (address === undefined) return new EvidenceFolder(folder.evidence, folder.waitsForDisk);
  return new EvidenceObjects(objectPlace(address), folder.evidence);
}

const incomingOf = (folder: DataFolder): string => path.join(folder.evidence, 'incoming');
