import type { Problem } from '../base/errors.js';
import type { Lot } from '../kinds/lot.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import type { Reads } from '../store/repositories.js';
import type { LotFolder } from './read-folder.js';
import type { ReadDocument } from './yaml-document.js';

/** What a further revision of a lot may not say, in the light of what is stored of it. */
export async function lotProblems({ document, lot }: LotFolder, read: Reads): Promise<Problem[]> {
  const stored = await read.entries.current('lot', lot.lot);
  if (stored === undefined) return [];
  return [
    ...lostParts(document, lot, stored.body),
    ...movedToAnotherCase(document, lot, stored.body),
    ...(await fatesOfReleased(document, lot, read)),
  ];
}

/** Whatever was made stays: an implant that a file no longer names could be neither held, revoked nor counted. */
function lostParts({ file, lineOf }: ReadDocument, lot: Lot, before: Lot): Problem[] {
  const lost = (field: 'implants' | 'coupons', was: readonly string[], is: readonly string[]): Problem[] =>
    was
      .filter((part) => !is.includes(part))
      .map((part) => ({
        code: 'part-lost',
        file,
        line: lineOf(field),
        field,
        found: `nothing of ${part}, which lot ${lot.lot} had`,
        expected: 'every part that was taken in with it before',
        remedy: 'put it back; of one that was tested, retained or scrapped say so under fates',
      }));
  const serials = ({ implants }: Lot) => implants.map(({ serial }) => serial);
  const coupons = (one: Lot) => one.coupons.map(({ coupon }) => coupon);
  return [...lost('implants', serials(before), serials(lot)), ...lost('coupons', coupons(before), coupons(lot))];
}

/** What was made for one patient is for nobody else: a case that changed its plan gets a new implant. */
function movedToAnotherCase({ file, lineOf }: ReadDocument, lot: Lot, before: Lot): Problem[] {
  const caseBefore = new Map(before.implants.map((implant) => [implant.serial, implant.case]));
  return lot.implants.flatMap(({ serial, case: code }, index) => {
    const was = caseBefore.get(serial);
    if (was === undefined || was === code) return [];
    const field = `implants[${index}].case`;
    return [
      {
        code: 'another-case',
        file,
        line: lineOf(field),
        field,
        found: `${serial} for case ${code}`,
        expected: `case ${was}, for which it was made`,
        remedy: 'an implant never moves to another case: reject it and build one for that case',
      },
    ];
  });
}

/** A released implant is out of the hands of whoever writes a lot file: its release has to be revoked first. */
async function fatesOfReleased({ file, lineOf }: ReadDocument, lot: Lot, read: Reads): Promise<Problem[]> {
  const fates = lot.fates ?? [];
  if (fates.length === 0) return [];
  const states = await unitStatesOf(
    read,
    lot.lot,
    lot.implants.map(({ serial }) => serial),
  );
  const released = new Set(states.filter(({ decision }) => decision === 'released').map(({ serial }) => serial));
  return fates.flatMap(({ part, as }, index) => {
    if (!released.has(part)) return [];
    const field = `fates[${index}].part`;
    return [
      {
        code: 'fate-of-released',
        file,
        line: lineOf(field),
        field,
        found: `${part} ${as}, although it is released`,
        expected: 'a fate of an implant that is not released',
        remedy: 'revoke its release first, or correct the serial',
      },
    ];
  });
}
