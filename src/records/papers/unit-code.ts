import { expiryOf } from '../../assessment/expiry.js';
import type { Element } from '../../base/element-strings/element-string.js';
import { elementsOf } from '../../base/element-strings/unit-identifier.js';
import type { Facts } from '../../dossier/facts.js';
import type { Implant } from '../../kinds/lot.js';
import { carriesUdi } from './label-duties.js';

/**
 * What stands in the code of a unit: its UDI, or its serial where the route or the family has none.
 * @throws AppError BAD_INPUT when the serial or the code of the lot cannot stand in a GS1 code.
 */
export function codeOf(facts: Facts, implant: Implant): readonly Element[] | string {
  const { udiDi, route } = facts.family.body;
  if (udiDi === undefined || !carriesUdi(route)) return implant.serial;
  const build = facts.lot.body.builds.find(({ build }) => build === implant.build)!;
  return elementsOf({
    gtin: udiDi,
    productionDay: build.openedAt.slice(0, 10),
    expiryDay: expiryOf(facts, implant)?.day,
    lot: facts.lot.body.lot,
    serial: implant.serial,
  });
}
