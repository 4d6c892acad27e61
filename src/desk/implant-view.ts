import { NotFoundError } from '../base/errors.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { findingAnchor, resultAnchor } from '../report/anchors.js';
import { metalRows } from '../report/metal-rows.js';
import { lotAddress } from '../report/page-addresses.js';
import { ABSENT } from '../report/phrases/absent.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { IDENTITY } from '../report/phrases/record-identity.js';
import { sideText } from '../report/phrases/trade-codes.js';
import { UNIT_PAGE } from '../report/phrases/unit-page.js';
import { stockMetals } from '../report/stock-metal.js';
import { zoneTable } from '../report/zone-table.js';

const rangeText = ({ from, to }: { from: number; to: number }): string =>
  from === to ? `${from}` : LOT_PAGE.range(from, to);

/**
 * One implant zone by zone: what was asked of the process and of the part, what came out, what the logs show.
 * @throws NotFoundError when the lot has no such implant.
 */
export function implantView({ facts, assessment }: AssessedLot, serial: string) {
  const lot = facts.lot.body.lot;
  const unit = zoneTable(facts, assessment).find((one) => one.serial === serial);
  const implant = facts.lot.body.implants.find((one) => one.serial === serial);
  if (!unit || !implant) throw new NotFoundError(`implant of lot ${lot}`, serial);
  const found = facts.cases.get(implant.case)?.body;
  const resultView = (result: (typeof unit.whole)[number]) => ({
    ...result,
    values: result.values.map((value) => ({
      ...value,
      to: value.row === null ? null : lotAddress(lot, 'tests', resultAnchor(value.row)),
    })),
  });
  return {
    ...unit,
    implant,
    metal: metalRows(facts, implant),
    stock: stockMetals(facts, implant),
    words: UNIT_PAGE,
    site: found ? LOT_PAGE.place(found.anatomicalSite, sideText(found.side)) : ABSENT.withheld,
    neededBy: found ? IDENTITY.wanted(found.neededBy, found.surgeryOn) : ABSENT.withheld,
    zones: unit.zones.map((zone) => ({
      ...zone,
      layers: rangeText(zone.layers),
      results: zone.results.map(resultView),
      findings: zone.findings.map((finding) => ({
        ...finding,
        layers: rangeText(finding.layers),
        to: lotAddress(lot, 'build', findingAnchor(finding.id)),
      })),
    })),
    whole: unit.whole.map(resultView),
  };
}
