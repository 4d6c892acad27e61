import type { AssessedLot } from '../lots/lot-assessor.js';
import { findingAnchor, resultAnchor } from '../report/anchors.js';
import { figureView } from '../report/figure-view.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { zoneMapFigure } from '../report/zone-map-figure.js';
import { zoneTable } from '../report/zone-table.js';

const rangeText = ({ from, to }: { from: number; to: number }): string =>
  from === to ? `${from}` : LOT_PAGE.range(from, to);

/** Every implant zone by zone, as a picture and as a table. */
export function zonesView({ facts, assessment }: AssessedLot) {
  const figure = zoneMapFigure(facts, assessment.units);
  return {
    figure: figure ? figureView(figure, LOT_PAGE.zones, 'zones') : null,
    units: zoneTable(facts, assessment).map((unit) => ({
      ...unit,
      zones: unit.zones.map((zone) => ({
        ...zone,
        layers: rangeText(zone.layers),
        results: zone.results.map(resultView),
        findings: zone.findings.map((finding) => ({
          ...finding,
          layers: rangeText(finding.layers),
          anchor: findingAnchor(finding.id),
        })),
      })),
      whole: unit.whole.map(resultView),
    })),
  };
}

type Result = ReturnType<typeof zoneTable>[number]['whole'][number];

const resultView = (result: Result) => ({
  ...result,
  values: result.values.map((value) => ({ ...value, anchor: value.row === null ? null : resultAnchor(value.row) })),
});
