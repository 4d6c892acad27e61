import type { Verdict } from '../assessment/assessment.js';
import { placesOnParts } from '../assessment/coverage.js';
import { decisionOn } from '../assessment/finding-decisions.js';
import { effectOf, logFindingsOf } from '../assessment/log-findings.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import { zoneMadeIn } from '../kinds/build-chain.js';
import type { BuiltZone, Implant } from '../kinds/lot.js';
import { textMetric } from '../pdf/shaping.js';
import { type ZoneRow, type ZoneSpan, zoneMap } from './charts/zone-map.js';
import type { LotFigure } from './lot-figure.js';
import { ZONE_MAP } from './phrases/figures/zone-map.js';
import { findingText } from './phrases/log-finding.js';

/** More signs than this hide each other; the table of findings has them all. */
const MOST_SHOWN = 24;
const SEVERITY: readonly LogFinding['level'][] = ['reject', 'action', 'alert'];

const mostSevereFirst = (a: LogFinding, b: LogFinding): number =>
  SEVERITY.indexOf(a.level) - SEVERITY.indexOf(b.level) ||
  Date.parse(a.startedAt ?? '1970-01-01T00:00:00Z') - Date.parse(b.startedAt ?? '1970-01-01T00:00:00Z');

/** Zones of each implant over its layers, with what the log says of them and what follows. */
export function zoneMapFigure(
  facts: Facts,
  units: readonly { readonly serial: string; readonly verdict: Verdict }[],
): LotFigure | undefined {
  const implants = facts.lot.body.implants.filter(({ serial }) => units.some((unit) => unit.serial === serial));
  if (implants.length === 0) return undefined;
  const acting = logFindingsOf(facts)
    .filter((finding) => verdictOf(facts, finding) !== undefined)
    .sort(mostSevereFirst);
  const shown = acting.slice(0, MOST_SHOWN);
  const drawn = implants.map((implant) => ({
    serial: implant.serial,
    verdict: units.find((unit) => unit.serial === implant.serial)!.verdict,
    zones: implant.zones.map((zone) => zoneRow(facts, implant, zone, shown)),
  }));
  const scene = zoneMap({ title: ZONE_MAP.title(facts.lot.body.lot), units: drawn }, textMetric);
  const rows = drawn.flatMap(({ serial, zones }) => zones.map((zone) => ({ serial, ...zone })));
  return {
    scene,
    alt: ZONE_MAP.alt(
      rows.map(({ serial, label, fromLayer, toLayer }) => ZONE_MAP.zone(serial, label, fromLayer, toLayer)),
      rows.flatMap(({ serial, label, spans }) =>
        spans.map(({ fromLayer, toLayer, words }) =>
          ZONE_MAP.finding(serial, { zone: label, from: fromLayer, to: toLayer, words }),
        ),
      ),
    ),
    caption: ZONE_MAP.caption + (acting.length > shown.length ? ZONE_MAP.more(shown.length, acting.length) : ''),
  };
}

function verdictOf(facts: Facts, finding: LogFinding): ZoneSpan['verdict'] | undefined {
  const effect = effectOf(finding, decisionOn(facts, finding));
  return effect === 'blocks release' ? undefined : effect;
}

function zoneRow(facts: Facts, implant: Implant, zone: BuiltZone, findings: readonly LogFinding[]): ZoneRow {
  const spans = findings.flatMap((finding) => {
    const made = zoneMadeIn(facts.lot.body, implant, zone.zone, finding.build);
    if (made === undefined) return [];
    return placesOnParts(facts.lot.body, finding)
      .filter((place) => place.zone === null || place.zone === zone.zone)
      .map((place) => ({
        fromLayer: Math.max(made.layers.from, place.layerFrom ?? made.layers.from),
        toLayer: Math.min(made.layers.to, place.layerTo ?? made.layers.to),
        verdict: verdictOf(facts, finding)!,
        words: findingText(finding),
      }))
      .filter((span) => span.fromLayer <= span.toLayer);
  });
  return { label: zone.zone, fromLayer: zone.layers.from, toLayer: zone.layers.to, spans: merged(spans) };
}

/** Neighbouring stretches of one finding become one. */
function merged(spans: readonly ZoneSpan[]): ZoneSpan[] {
  const joined: ZoneSpan[] = [];
  for (const span of [...spans].sort((a, b) => a.fromLayer - b.fromLayer)) {
    const last = joined.findLast((one) => one.words === span.words && one.verdict === span.verdict);
    if (last && span.fromLayer <= last.toLayer + 1) {
      joined[joined.indexOf(last)] = { ...last, toLayer: Math.max(last.toLayer, span.toLayer) };
    } else joined.push(span);
  }
  return joined;
}
