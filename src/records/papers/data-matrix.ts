import { createRequire } from 'node:module';
import { carrierText, type Element } from '../../base/element-strings/element-string.js';
import type { SceneBuilder } from '../../base/scene.js';
import { INK, PAPER_COLOUR } from './colours.js';

/** Dark modules by row and column, without the quiet zone. */
export type Modules = readonly (readonly boolean[])[];

/** What is used of the library. */
interface BarcodeLibrary {
  raw(options: { bcid: string; text: string; parsefnc?: boolean }): {
    readonly pixs: readonly number[];
    readonly pixx: number;
    readonly pixy: number;
  }[];
}

let library: BarcodeLibrary | undefined;

/** The library is large, so it is read when the first code is drawn. */
function barcodes(): BarcodeLibrary {
  library ??= createRequire(import.meta.url)('bwip-js') as BarcodeLibrary;
  return library;
}

/** How the library is told of FNC1. The sign ^ cannot stand in a content. */
const FNC1 = '^FNC1';

/** A GS1 DataMatrix of element strings (ISO/IEC 16022 with FNC1 in first place), or a plain one of any text. */
export function dataMatrix(content: readonly Element[] | string): Modules {
  const options =
    typeof content === 'string'
      ? { bcid: 'datamatrix', text: content }
      : { bcid: 'datamatrix', text: FNC1 + carrierText(content, FNC1), parsefnc: true };
  const [{ pixs, pixx, pixy }] = barcodes().raw(options) as [ReturnType<BarcodeLibrary['raw']>[number]];
  return Array.from({ length: pixy }, (_, row) =>
    Array.from({ length: pixx }, (_, column) => pixs[row * pixx + column] === 1),
  );
}

/** Quiet zone on each side: one module (ISO/IEC 16022). */
const QUIET = 1;

/** Width of the code with its quiet zone, in points. */
export const widthOf = (modules: Modules, modulePt: number): number => (modules[0]!.length + 2 * QUIET) * modulePt;

/** Draws the code as squares; neighbours in a row become one, so that no hairline runs between them. */
export function drawModules(builder: SceneBuilder, modules: Modules, x: number, y: number, modulePt: number): void {
  const height = (modules.length + 2 * QUIET) * modulePt;
  builder.rect(x, y, widthOf(modules, modulePt), height, { fill: PAPER_COLOUR });
  modules.forEach((row, index) => {
    let from = 0;
    while (from < row.length) {
      const to = row[from] ? row.findIndex((dark, column) => column > from && !dark) : from + 1;
      const end = to < 0 ? row.length : to;
      if (row[from]) {
        const top = y + (QUIET + index) * modulePt;
        builder.rect(x + (QUIET + from) * modulePt, top, (end - from) * modulePt, modulePt, { fill: INK });
      }
      from = end;
    }
  });
}
