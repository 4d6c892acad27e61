import { NotFoundError } from '../base/errors.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { capabilityView } from '../report/capability-view.js';
import { lotFamilyAddress } from '../report/page-addresses.js';

/**
 * One characteristic of the family over its builds, as the lot file has it.
 * @throws NotFoundError when the lot file says nothing of it.
 */
export function lotFamilyView({ facts, assessment }: AssessedLot, wanted: string | undefined) {
  const { pooling, characteristics } = facts.specification.body;
  const lot = facts.lot.body.lot;
  const all = assessment.capability.map((capability) => ({
    capability,
    item: characteristics.find(({ characteristic }) => characteristic === capability.characteristic)!,
  }));
  const shown = wanted === undefined ? all[0] : all.find(({ item }) => item.characteristic === wanted);
  if (wanted !== undefined && !shown) throw new NotFoundError(`characteristic in lot ${lot}`, wanted);
  return {
    pooling: pooling.rationale,
    choices: all.map(({ item }) => ({
      title: item.title,
      to: lotFamilyAddress(lot, item.characteristic),
      isShown: item === shown?.item,
    })),
    view: shown ? capabilityView(shown.item, shown.capability) : null,
  };
}
