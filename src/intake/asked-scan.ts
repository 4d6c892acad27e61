import type { Problem } from '../base/errors.js';
import type { Implant } from '../kinds/lot.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';
import type { LotNow } from '../kinds/split-lot.js';
import type { ShapeProgress } from '../shape/progress.js';
import type { LotFolder, ReferencedFile } from './read-folder.js';
import type { FilesAsked } from './shape-files.js';

export interface MeasuringOptions {
  readonly onProgress?: ((file: string, progress: ShapeProgress) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
}

/** A scan that is to be measured, with where it stands. */
export interface AskedScan extends FilesAsked {
  readonly folder: LotFolder;
  /** The lot of the folder with what came over. */
  readonly now: LotNow;
  readonly scan: ShapeScan;
  readonly index: number;
  readonly implant: Implant;
  readonly file: ReferencedFile;
}

export function ofScan(
  { folder, index }: Pick<AskedScan, 'folder' | 'index'>,
  { field, ...fault }: Pick<Problem, 'field' | 'found' | 'expected' | 'remedy'>,
): Problem {
  const at = `scans[${index}].${field}`;
  const { file, lineOf } = folder.document;
  return { code: 'shape-scan', file, line: lineOf(at), field: at, ...fault };
}
