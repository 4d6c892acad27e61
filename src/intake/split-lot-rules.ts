import type { Problem } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';
import { scanFaults } from '../kinds/lot-after-faults.js';
import { namesKnown } from '../kinds/lot-contradictions.js';
import { type LotNow, partsInside } from '../kinds/split-lot.js';
import type { Reads } from '../store/repositories.js';
import type { Known } from './known.js';
import type { LotFolder } from './read-folder.js';
import { keyOf } from './result-rules.js';
import { comparedInOthers } from './shape-changes.js';

/**
 * What a lot may not say in the light of the moves of its units (docs/decisions/moved-units.md).
 * @param now the lot as it will be, with all moves that are known.
 */
export async function splitLotProblems(folder: LotFolder, now: LotNow, known: Known, read: Reads): Promise<Problem[]> {
  return [
    ...fatesOfMoved(folder, now),
    ...(await wrongOrigin(folder, known)),
    ...namesOfOthers(folder, now),
    ...scansOfOthers(folder, now),
    ...(await changedUnderOthers(folder, now, known, read)),
    ...(await valuesOfOthers(folder, now, read)),
  ];
}

function fatesOfMoved({ document: { file, lineOf }, lot }: LotFolder, { moved = [] }: LotNow): Problem[] {
  return (lot.fates ?? []).flatMap(({ part, as }, index) => {
    const away = moved.find((one) => one.part === part);
    const field = `fates[${index}].part`;
    if (away === undefined) return [];
    return [
      {
        code: 'fate-of-moved',
        ...{ file, line: lineOf(field), field },
        found: `${part} ${as}, which went on in lot ${away.lot} by ${away.move}`,
        expected: 'a part that is still in this lot',
        remedy: `say it in the document of lot ${away.lot}`,
      },
    ];
  });
}

async function wrongOrigin({ document: { file, lineOf }, lot }: LotFolder, known: Known): Promise<Problem[]> {
  const at = { file, line: lineOf('splitFrom'), field: 'splitFrom' };
  const origin = lot.splitFrom === undefined ? undefined : await known.body('lot', lot.splitFrom);
  const before = (await known.revisions('lot', lot.lot)).at(-1)?.body;
  const problems: Problem[] = [];
  if (origin?.splitFrom !== undefined) {
    problems.push({
      code: 'split-of-split',
      ...at,
      found: `lot ${origin.lot}, which is split from lot ${origin.splitFrom}`,
      expected: 'the lot in which the units were built',
      remedy: `split it from lot ${origin.splitFrom}`,
    });
  }
  if (before !== undefined && before.splitFrom !== lot.splitFrom) {
    problems.push({
      code: 'another-origin',
      ...at,
      found: lot.splitFrom ?? 'nothing',
      expected: before.splitFrom ?? 'nothing, as the lot was taken in',
      remedy: 'where its units were built never changes: put it back',
    });
  }
  return problems;
}

/** What the document of a split lot says of parts is of those that came over. */
function namesOfOthers({ document: { file, lineOf }, lot }: LotFolder, now: LotNow): Problem[] {
  if (lot.splitFrom === undefined) return [];
  const { implants, coupons } = partsInside(now);
  const parts = new Set([...implants.map(({ serial }) => serial), ...coupons.map(({ coupon }) => coupon)]);
  return namesKnown(lot, parts).map(({ field, found }) => ({
    code: 'contradiction',
    ...{ file, line: lineOf(field), field },
    found,
    expected: `a part that a unit move brought into lot ${lot.lot}`,
    remedy: 'take the move in together with the lot, or correct the part',
  }));
}

/** What a scan of a split lot is held against: a design, a stock part or a scan that came over stands in the lot of the build. */
function scansOfOthers({ document: { file, lineOf }, lot }: LotFolder, now: LotNow): Problem[] {
  if (lot.splitFrom === undefined) return [];
  return (lot.scans ?? []).flatMap((scan, index) => {
    // Two against the design are told apart where they are measured.
    const isSame = (one: ShapeScan) =>
      one !== scan &&
      one.specimen === scan.specimen &&
      one.scan === scan.scan &&
      [one, scan].some(({ against }) => against.what !== 'design');
    const field = `scans[${index}]`;
    const faults = scanFaults(now, scan, field);
    if (now.scans?.some(isSame)) {
      faults.push({
        field: `${field}.scan`,
        found: `scan ${scan.scan} of ${scan.specimen}, which lot ${lot.splitFrom} has already`,
        expected: 'a name that no other scan of this unit has, in whatever lot',
        remedy: 'give the new scan a name of its own',
      });
    }
    return faults.map((fault) => ({
      ...{ code: 'contradiction', remedy: 'correct it, or take the move of the unit in together with the lot' },
      ...{ file, line: lineOf(fault.field), ...fault },
    }));
  });
}

/**
 * Scans of units that went on, with which a later lot compared one of its own: that lot reads them here, so they stay and say
 * what they said. Other points are told where scans are measured.
 */
async function changedUnderOthers(
  { document: { file, lineOf }, lot }: LotFolder,
  { moved = [] }: LotNow,
  known: Known,
  read: Reads,
): Promise<Problem[]> {
  const earlier = moved.length === 0 ? [] : ((await known.revisions('lot', lot.lot)).at(-1)?.body.scans ?? []);
  const problems: Problem[] = [];
  for (const before of earlier.filter(({ specimen }) => moved.some(({ part }) => part === specimen))) {
    const [other] = await comparedInOthers(read, lot.lot, before);
    if (other === undefined) continue;
    const { specimen, scan } = before;
    const index = (lot.scans ?? []).findIndex((one) => one.specimen === specimen && one.scan === scan);
    const now = lot.scans?.[index];
    if (now !== undefined && saidOf(now) === saidOf(before)) continue;
    const field = now === undefined ? 'scans' : `scans[${index}]`;
    problems.push({
      code: 'compared-later',
      ...{ file, line: lineOf(field), field },
      found: `scan ${scan} of ${specimen} ${now === undefined ? 'taken away' : 'changed'}; scan ${other.scan} of lot ${other.lot} was compared with it`,
      expected: 'the scan as it was, on which that lot rests',
      remedy: 'put it back as it was, and give a corrected scan a name of its own',
    });
  }
  return problems;
}

/** Its points by their bytes, whatever their file is called. */
const saidOf = ({ file, ...said }: ShapeScan): string => digestOf(said);

/**
 * A value stands in one place: with the lot in which its unit was when it was measured. Coupons are tested for all units of
 * their build, so their values stand with the lot of the build.
 */
async function valuesOfOthers({ lot, sheets, folder }: LotFolder, now: LotNow, read: Reads): Promise<Problem[]> {
  const { moved = [], came } = now;
  const { splitFrom } = lot;
  if (sheets.length === 0 || (moved.length === 0 && splitFrom === undefined)) return [];
  const keysOf = async (code: string) => new Set((await read.results.current(code)).map(keyOf));
  const own = await keysOf(lot.lot);
  const there = splitFrom === undefined ? new Set<string>() : await keysOf(splitFrom);
  const isCoupon = (code: string) => now.coupons.some(({ coupon }) => coupon === code);
  const lotOf = ({ specimen, measuredAt }: { specimen: string; measuredAt: string }): string | undefined => {
    if (isCoupon(specimen)) return splitFrom;
    const isLater = (at: string) => Date.parse(measuredAt) > Date.parse(at);
    const left = moved.find(({ part }) => part === specimen);
    if (left !== undefined) return isLater(left.at) ? left.lot : undefined;
    const arrived = came?.find(({ part }) => part === specimen);
    return arrived === undefined || isLater(arrived.at) ? undefined : splitFrom;
  };
  return sheets.flatMap((sheet) =>
    sheet.rows.flatMap((row): Problem[] => {
      const key = keyOf(row);
      if (own.has(key)) return [];
      const where = there.has(key) ? splitFrom : lotOf(row);
      if (where === undefined) return [];
      return [
        {
          code: 'value-of-another-lot',
          file: folder === '.' ? sheet.file : `${folder}/${sheet.file}`,
          line: row.line,
          field: 'specimen',
          found: there.has(key) ? `${key}, on record with lot ${where}` : `${key}, measured at ${row.measuredAt}`,
          expected: `a value of lot ${lot.lot}: of a unit that was in it then, or of a coupon of its own builds`,
          remedy: `give the row in a sheet of lot ${where}; it counts for the units of both lots`,
        },
      ];
    }),
  );
}
