import type { Problem } from '../base/errors.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { Reads } from '../store/repositories.js';
import { bodyIf, type Known } from './known.js';
import { lotComing } from './lots-coming.js';
import type { ReadDocument } from './yaml-document.js';

/** Lots that take back what they gave up: a stock part that is stored stays one, whatever comes of its lot afterwards. */
export async function takenBackProblems(
  documents: readonly ReadDocument[],
  known: Known,
  read: Reads,
): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const lot = bodyIf('lot', document);
    // A lot that is new has given nothing up.
    if (lot === undefined || (await read.entries.current('lot', lot.lot)) === undefined) continue;
    const now = await lotComing(lot, documents, known, read);
    const serials = now.implants.map(({ serial }) => serial);
    const tied = await read.entries.tiedToAny('stock-part', 'implant', serials, 'was implant');
    for (const { key } of tied) {
      const serial = (await known.body('stock-part', key))?.implant;
      if (serial === undefined || !serials.includes(serial)) continue;
      const gone = fateOf(now, serial);
      // Of one that went on in another lot, that lot is asked.
      if (gone?.as === 'stock part' || gone?.as === 'moved') continue;
      const { file, lineOf } = document;
      problems.push({
        ...{ code: 'stock-taken-back', file, line: lineOf('fates'), field: 'fates' },
        found: `${gone === undefined ? 'nothing' : `"${gone.as}"`} of ${serial}, which is stock part ${key}`,
        expected: `"stock part" of ${serial}, as long as a stock part names it`,
        remedy: `put the fate back; if ${serial} never was stock, correct implant of ${key} first`,
      });
    }
  }
  return problems;
}
