import { CHART_WIDTH, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { type Level, moreSevere } from '../../process-logs/levels.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  drawHorizontalAxis,
  drawNotes,
  drawTitle,
  fitText,
  HORIZONTAL_AXIS_HEIGHT,
  horizontalScale,
  type Linear,
  numberTicks,
  widest,
} from './frame.js';
import { CALM_LIGHT, DATA, LEVEL_COLOUR, RULE } from './palette.js';

export interface TimelineLane {
  /** Name of the step: `deposit`, `peen`, `mill`, `idle`. */
  readonly label: string;
  readonly spans: readonly { readonly fromH: number; readonly toH: number }[];
}

export interface TimelineFinding {
  readonly fromH: number;
  readonly toH: number;
  /** Lane in which it happened; without one it concerns the whole build. */
  readonly lane?: string;
  readonly level: Level;
  readonly words: string;
}

export interface Timeline {
  readonly title: string;
  /** What the hours count from. */
  readonly timeLabel: string;
  readonly lanes: readonly TimelineLane[];
  readonly findings: readonly TimelineFinding[];
}

const LANE_HEIGHT = 25;
const BAR_HEIGHT = 10;
/** Half the width of the sign of a finding. */
const SIGN = 3.6;

/** Steps of a build over time, one lane each. Findings are numbered where they happened and told below. */
export function timeline(chart: Timeline, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  const top = drawTitle(builder, chart.title) + 4;
  const lanes = [...chart.lanes.map((lane) => lane.label), ...wholeBuildLane(chart)];
  const left = Math.min(130, widest(builder, lanes) + 10);
  const area: Area = { left, right: CHART_WIDTH - 8, top, bottom: top + lanes.length * LANE_HEIGHT };
  const x = horizontalScale(timesOf(chart), area);

  lanes.forEach((label, index) => {
    const y = top + index * LANE_HEIGHT;
    builder.text(0, y + 11.5, fitText(builder, label, left - 6));
    builder.line(area.left, y + LANE_HEIGHT, area.right, y + LANE_HEIGHT, { stroke: RULE, strokeWidth: 0.5 });
  });
  chart.lanes.forEach((lane, index) => {
    drawSpans(builder, x, top + index * LANE_HEIGHT, lane);
  });
  drawHorizontalAxis(builder, area, x, numberTicks(x, 10), chart.timeLabel);
  for (const { finding, lane, numbers } of signsOf(chart, lanes, x)) {
    drawFinding(builder, x, top + lane * LANE_HEIGHT, finding, numbers.join(', '));
  }
  const notes = chart.findings.map((finding, index) => `${index + 1} ${noteOf(finding)}`);
  const end = drawNotes(builder, area.bottom + HORIZONTAL_AXIS_HEIGHT, notes);
  return builder.finish(CHART_WIDTH, end + 4);
}

interface FindingSign {
  /** The first of those that share the sign. */
  readonly finding: TimelineFinding;
  readonly lane: number;
  readonly numbers: number[];
}

/** Findings that lie on each other share one sign, with all their numbers; the most severe lends its colour. */
function signsOf({ findings }: Timeline, lanes: readonly string[], x: Linear): FindingSign[] {
  const signs: FindingSign[] = [];
  const middle = ({ fromH, toH }: TimelineFinding) => (x(fromH) + x(toH)) / 2;
  findings.forEach((finding, index) => {
    const lane = finding.lane === undefined ? lanes.length - 1 : lanes.indexOf(finding.lane);
    const at = signs.findIndex((sign) => sign.lane === lane && Math.abs(middle(sign.finding) - middle(finding)) < SIGN);
    const known = signs[at];
    if (known === undefined) signs.push({ finding, lane, numbers: [index + 1] });
    else {
      known.numbers.push(index + 1);
      if (isMoreSevere(finding.level, known.finding.level)) signs[at] = { ...known, finding };
    }
  });
  return signs;
}

function isMoreSevere(level: Level, than: Level): boolean {
  return moreSevere(level, than) === level && level !== than;
}

/** Findings of the whole build, or of a step that has no lane, stand in a lane of their own. */
function wholeBuildLane({ lanes, findings }: Timeline): string[] {
  const unknown = findings.find(({ lane }) => lane !== undefined && !lanes.some((known) => known.label === lane));
  if (unknown) throw new RangeError(`a finding names the lane "${unknown.lane}", which the timeline does not have`);
  return findings.some(({ lane }) => lane === undefined) ? [CHART_WORDS.wholeBuild] : [];
}

function timesOf({ lanes, findings }: Timeline): [number, number] {
  const spans = [...lanes.flatMap((lane) => lane.spans), ...findings];
  if (spans.length === 0) return [0, 1];
  const from = spans.reduce((least, span) => Math.min(least, span.fromH), Number.POSITIVE_INFINITY);
  const to = spans.reduce((most, span) => Math.max(most, span.toH), Number.NEGATIVE_INFINITY);
  return to > from ? [from, to] : [from, from + 1];
}

/** Spans closer than a hair are drawn as one: a build may have thousands. */
function drawSpans(builder: SceneBuilder, x: Linear, y: number, { spans }: TimelineLane): void {
  const merged: { left: number; right: number }[] = [];
  for (const { fromH, toH } of [...spans].sort((a, b) => a.fromH - b.fromH)) {
    const [left, right] = [x(fromH), Math.max(x(toH), x(fromH) + 0.4)];
    const last = merged.at(-1);
    if (last && left - last.right < 0.3) last.right = Math.max(last.right, right);
    else merged.push({ left, right });
  }
  for (const { left, right } of merged) {
    const bar = { fill: CALM_LIGHT, stroke: DATA, strokeWidth: 0.6 };
    builder.rect(left, y + 3.5, right - left, BAR_HEIGHT, bar);
  }
}

/** A bar over the time it lasted, and a sign with its number below the lane's steps. */
function drawFinding(builder: SceneBuilder, x: Linear, y: number, finding: TimelineFinding, number: string): void {
  const [left, right] = [x(finding.fromH), x(finding.toH)];
  const fill = LEVEL_COLOUR[finding.level];
  const middle = (left + right) / 2;
  const tip = y + BAR_HEIGHT + 5;
  builder.rect(left, y + 1, Math.max(right - left, 1.2), BAR_HEIGHT + 4, { stroke: fill, strokeWidth: 1.2 });
  builder.polygon(
    [
      { x: middle, y: tip },
      { x: middle - SIGN, y: tip + SIGN * 1.8 },
      { x: middle + SIGN, y: tip + SIGN * 1.8 },
    ],
    { fill },
  );
  builder.text(middle + SIGN + 2, y + LANE_HEIGHT - 3, number, { bold: true });
}

function noteOf({ fromH, toH, level, words }: TimelineFinding): string {
  return CHART_WORDS.finding(level, CHART_WORDS.hours(fromH.toFixed(2), toH.toFixed(2)), words);
}
