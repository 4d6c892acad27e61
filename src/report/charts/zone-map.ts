import type { Verdict } from '../../assessment/assessment.js';
import { CHART_WIDTH, INK, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { verdictText } from '../phrases/codes.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  drawHorizontalAxis,
  drawNotes,
  drawTitle,
  fitText,
  HORIZONTAL_AXIS_HEIGHT,
  hatch,
  horizontalScale,
  type Linear,
  type Tick,
  widest,
} from './frame.js';
import { ATTENTION, CALM_LIGHT, DATA, PAPER, UNDECIDED, UNDECIDED_LIGHT } from './palette.js';

/** Layers, both ends included, that something was found on. */
export interface ZoneSpan {
  readonly fromLayer: number;
  readonly toLayer: number;
  readonly verdict: Exclude<Verdict, 'conforms'>;
  /** What was found, in words. */
  readonly words: string;
}

export interface ZoneRow {
  readonly label: string;
  readonly fromLayer: number;
  readonly toLayer: number;
  readonly spans: readonly ZoneSpan[];
}

export interface ZoneMap {
  readonly title: string;
  /** Implants by serial with their verdicts, each with its zones. */
  readonly units: readonly { readonly serial: string; readonly verdict: Verdict; readonly zones: readonly ZoneRow[] }[];
}

const ROW_HEIGHT = 11.5;
const UNIT_GAP = 3;
const HEAD_HEIGHT = 12;

/** Every zone of every implant as a strip over its layers, with what was found on them. */
export function zoneMap(map: ZoneMap, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  const top = drawTitle(builder, map.title) + 2;
  const zoneLabels = map.units.flatMap((unit) => unit.zones.map((zone) => zone.label));
  const left = Math.min(120, widest(builder, zoneLabels) + 14);
  const height = map.units.reduce((sum, unit) => sum + HEAD_HEIGHT + unit.zones.length * ROW_HEIGHT + UNIT_GAP, 0);
  const area: Area = { left, right: CHART_WIDTH - 8, top, bottom: top + height };
  const x = horizontalScale(layersOf(map), area);

  const notes: string[] = [];
  let y = top;
  for (const unit of map.units) {
    builder.text(0, y + 9, `${unit.serial}: ${verdictText(unit.verdict)}`, {
      bold: true,
      fill: colourOf(unit.verdict),
    });
    y += HEAD_HEIGHT;
    for (const zone of unit.zones) {
      builder.text(8, y + 8.5, fitText(builder, zone.label, left - 12));
      notes.push(...drawZone(builder, x, y, zone, notes.length));
      y += ROW_HEIGHT;
    }
    y += UNIT_GAP;
  }
  drawHorizontalAxis(builder, area, x, layerTicks(x), CHART_WORDS.layer);
  const key = CHART_WORDS.verdicts;
  const end = drawNotes(builder, area.bottom + HORIZONTAL_AXIS_HEIGHT, [key, ...notes]);
  return builder.finish(CHART_WIDTH, end + 4);
}

/** A layer reaches from half a layer before its number to half a layer behind. */
function layersOf({ units }: ZoneMap): [number, number] {
  const zones = units.flatMap((unit) => unit.zones);
  if (zones.length === 0) return [0.5, 1.5];
  const from = zones.reduce((least, zone) => Math.min(least, zone.fromLayer), Number.POSITIVE_INFINITY);
  const to = zones.reduce((most, zone) => Math.max(most, zone.toLayer), Number.NEGATIVE_INFINITY);
  return [from - 0.5, to + 0.5];
}

function layerTicks(x: Linear): Tick[] {
  const whole = x.ticks(10).filter((tick) => Number.isInteger(tick));
  return whole.map((at) => ({ at, label: String(at) }));
}

function colourOf(verdict: Verdict): string {
  if (verdict === 'does not conform') return ATTENTION;
  return verdict === 'cannot be decided' ? UNDECIDED : INK;
}

/** Draws the strip and returns a numbered note for each span on it. */
function drawZone(builder: SceneBuilder, x: Linear, y: number, zone: ZoneRow, notesBefore: number): string[] {
  const [left, right] = [x(zone.fromLayer - 0.5), x(zone.toLayer + 0.5)];
  builder.rect(left, y + 2, right - left, ROW_HEIGHT - 4, { fill: CALM_LIGHT, stroke: DATA, strokeWidth: 0.6 });
  return zone.spans.map((span, index) => {
    const number = notesBefore + index + 1;
    drawSpan(builder, x, y, span, String(number));
    const layers = CHART_WORDS.layers(span.fromLayer, span.toLayer);
    return `${number} ${CHART_WORDS.zone(zone.label, layers, span.verdict, span.words)}`;
  });
}

function drawSpan(builder: SceneBuilder, x: Linear, y: number, span: ZoneSpan, number: string): void {
  const [start, end] = [x(span.fromLayer - 0.5), x(span.toLayer + 0.5)];
  const [left, right] = end - start >= 4 ? [start, end] : [(start + end) / 2 - 2, (start + end) / 2 + 2];
  const box: Area = { left, right, top: y + 2, bottom: y + ROW_HEIGHT - 2 };
  const colour = colourOf(span.verdict);
  if (span.verdict === 'does not conform') {
    builder.rect(left, box.top, right - left, box.bottom - box.top, { fill: colour });
    builder.line(left, box.top, right, box.bottom, { stroke: PAPER, strokeWidth: 0.8 });
    builder.line(left, box.bottom, right, box.top, { stroke: PAPER, strokeWidth: 0.8 });
  } else {
    const ground = { fill: UNDECIDED_LIGHT, stroke: colour, strokeWidth: 0.8 };
    builder.rect(left, box.top, right - left, box.bottom - box.top, ground);
    hatch(builder, box, { stroke: colour, strokeWidth: 0.8 }, 3);
  }
  const width = builder.textWidth(number, 8, true);
  builder.rect(right + 1.5, y + 3, width + 2, 9, { fill: PAPER });
  builder.text(right + 2.5, y + 10.5, number, { bold: true, fill: colour });
}
