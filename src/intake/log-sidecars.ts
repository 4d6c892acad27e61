import fs from 'node:fs';
import { logsOf } from '../kinds/log-files.js';
import type { Sidecars } from '../process-logs/plan-from-recipe.js';
import { readUnitsSidecar } from '../process-logs/units-sidecar.js';
import type { LotFolder } from './read-folder.js';

/**
 * What the sidecars of a build's logs say of their units, by the path of the log.
 * @param build place of the build in the lot file.
 * @param pathOf where the bytes of a file of the folder are read.
 * @throws BadInputError naming every line of a sidecar that is wrong.
 */
export function readSidecars(folder: LotFolder, build: number, pathOf = (file: string): string => file): Sidecars {
  const named = logsOf(folder.lot.builds[build]!).flatMap(({ log, field }) => {
    const file = folder.files.find((item) => item.field === `builds[${build}].${field}.units`);
    return file === undefined ? [] : [{ log, file }];
  });
  return new Map(
    named.map(({ log, file }) => [log.file, readUnitsSidecar(fs.readFileSync(pathOf(file.path)), file.name)]),
  );
}
