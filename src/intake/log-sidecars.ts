import fs from 'node:fs';
import { logsOf } from '../kinds/log-files.js';
import type { Sidecars } from '../process-logs/plan-from-recipe.js';
import { readUnitsSidecar } from '../process-logs/units-sidecar.js';
import type { LotFolder } from './read-folder.js';

/**
 * What the sidecars of a build's logs say of their units, by the path of the log.
 * @param build place of the build in the lot file.
 * @throws BadInputError naming every line of a sidecar that is wrong.
 */
export function readSidecars(folder: LotFolder, build: number): Sidecars {
  const named = logsOf(folder.lot.builds[build]!).flatMap(({ log, field }) => {
    const file = folder.files.find((item) => item.field === `builds[${build}].${field}.units`);
    return file === undefined ? [] : [{ log, file }];
  });
  return new Map(named.map(({ log, file }) => [log.file, readUnitsSidecar(fs.readFileSync(file.path), file.name)]));
}
