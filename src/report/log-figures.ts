import { isGroup } from '../assessment/alike-findings.js';
import { isExcursion } from '../assessment/checks/log-findings-decided.js';
import { gasUses } from '../assessment/gas-uses.js';
import { logFindingsOf } from '../assessment/log-findings.js';
import type { ChartSize } from '../base/scene.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding, Outline } from '../dossier/schema.js';
import { perUnit, tradeUnit } from '../dossier/unit-text.js';
import type { Build } from '../kinds/lot.js';
import { textMetric } from '../pdf/shaping.js';
import type { ScanPlan, ScanWindow } from '../process-logs/plan.js';
import { planFromRecipe } from '../process-logs/plan-from-recipe.js';
import { type ChannelWindow, channelPlot, type OutlineStretch } from './charts/channel-plot.js';
import { timeline } from './charts/timeline.js';
import type { LotFigure } from './lot-figure.js';
import { ABSENT } from './phrases/absent.js';
import { CHART_WORDS } from './phrases/figures/charts.js';
import { LOG_FIGURES } from './phrases/figures/logs.js';
import { GAS_ROWS } from './phrases/gas-rows.js';
import { findingText } from './phrases/log-finding.js';
import { LOG_PAGE } from './phrases/log-page.js';
import { stepText } from './phrases/trade-codes.js';

/** So many findings are drawn and told in the picture of the whole build; the table has them all. */
const MOST_DRAWN = 14;
const SEVERITY: readonly LogFinding['level'][] = ['reject', 'action', 'alert'];

const HOUR_MS = 3_600_000;

function stretches(outline: Outline, closedMs: number): OutlineStretch[] {
  const hours = (bucket: number) => (outline.startMs + bucket * outline.bucketMs - closedMs) / HOUR_MS;
  return outline.min.flatMap((min, bucket) => {
    const max = outline.max[bucket] ?? null;
    return min === null || max === null ? [] : [{ fromH: hours(bucket), toH: hours(bucket + 1), min, max }];
  });
}

/** What the log of a build was scanned for, by all recipes that ran in it, in the units of its outlines. */
function scanPlanOf(facts: Facts, build: Build): ScanPlan {
  const recipes = new Map([...facts.recipes].map(([key, { body }]) => [key, body]));
  return planFromRecipe(facts.lot.body, build, recipes);
}

/** The limits of a window as a plot shows them. */
const drawnLimits = ({ level, low, high }: ScanWindow): Pick<ChannelWindow, 'level' | 'lower' | 'upper'> => ({
  level,
  ...(low === null ? {} : { lower: low }),
  ...(high === null ? {} : { upper: high }),
});

/** Windows of the chamber over the whole closure: of each recipe that ran in it, since the tightest holds for every part. */
function chamberWindows(facts: Facts, build: Build, channel: string): ChannelWindow[] {
  const toH = (Date.parse(build.openedAt) - Date.parse(build.closedAt)) / HOUR_MS;
  return scanPlanOf(facts, build)
    .windows.filter((window) => window.channel === channel && window.scope === 'closure')
    .map((window) => ({ fromH: 0, toH, ...drawnLimits(window) }));
}

/** Channels worth a plot: those of the inert atmosphere, and those with an excursion. */
export function plottedChannels(facts: Facts, build: Build): string[] {
  if (build.log === undefined) return [];
  const odd = logFindingsOf(facts)
    .filter((finding) => finding.build === build.build && isExcursion(finding) && finding.channel !== null)
    .map((finding) => finding.channel!);
  return [...new Set([...scanPlanOf(facts, build).inert.channels, ...odd])];
}

/** One logged channel over the build, with its window and what left it. */
export function channelFigure(facts: Facts, build: Build, channel: string, size?: ChartSize): LotFigure | undefined {
  const part = facts.logParts.get(build.build);
  const outline = part?.outlines.find((item) => item.channel === channel);
  if (!part || !outline) return undefined;
  const closedMs = Date.parse(build.closedAt);
  const hours = (at: string) => (Date.parse(at) - closedMs) / HOUR_MS;
  const excursions = logFindingsOf(facts).filter(
    (finding) =>
      finding.build === build.build &&
      finding.channel === channel &&
      isExcursion(finding) &&
      finding.startedAt &&
      finding.endedAt,
  );
  const [drawn, windows] = [stretches(outline, closedMs), chamberWindows(facts, build, channel)];
  const events = gasUses(build)
    .filter(({ isChange }) => isChange)
    .map(({ receipt, bottle, from }) => ({ atH: hours(from), words: GAS_ROWS.changed(receipt, bottle) }));
  const scene = channelPlot(
    {
      title: LOG_PAGE.channelOf(channel, build.build),
      valueLabel: `${channel}${perUnit(outline.ucum)}`,
      timeLabel: LOG_FIGURES.hours,
      outline: drawn,
      windows,
      excursions: excursions.map((finding) => ({
        fromH: hours(finding.startedAt!),
        toH: hours(finding.endedAt!),
        level: finding.level,
        words: isGroup(finding)
          ? LOG_FIGURES.levelPassedTimes(finding.members.length, finding.level)
          : LOG_FIGURES.levelPassed(finding.level),
        spans: finding.members.flatMap(({ startedAt, endedAt }) =>
          startedAt && endedAt ? [{ fromH: hours(startedAt), toH: hours(endedAt) }] : [],
        ),
      })),
      events,
      gaps: part.gaps.map((gap) => ({ fromH: hours(gap.startedAt), toH: hours(gap.endedAt) })),
      ...(size ? { size } : {}),
    },
    textMetric,
  );
  return {
    scene,
    alt: LOG_FIGURES.channelAlt(channel, {
      values: valuesText(drawn, outline.ucum),
      windows: windowsText(windows),
      excursions: excursions.map((finding) =>
        LOG_FIGURES.excursion(findingText(finding), spanText(hours(finding.startedAt!), hours(finding.endedAt!))),
      ),
      gaps: part.gaps.map((gap) => spanText(hours(gap.startedAt), hours(gap.endedAt))),
      events: events.map(({ atH, words }) => CHART_WORDS.event(atH, words)),
    }),
    caption: LOG_FIGURES.channelCaption(channel, build.build),
  };
}

/** The whole build on one picture: when each step ran, and what was found. Undefined when the log was never outlined. */
export function buildFigure(facts: Facts, build: Build): LotFigure | undefined {
  const part = facts.logParts.get(build.build);
  if (part?.steps === undefined || part.steps.length === 0) return undefined;
  const closedMs = Date.parse(build.closedAt);
  const hours = (at: string) => (Date.parse(at) - closedMs) / HOUR_MS;
  const gas = gasUses(build);
  const lanes = [
    ...part.steps.map(({ step, spans }) => ({
      label: laneName(step),
      spans: spans.map(({ startedAt, endedAt }) => ({ fromH: hours(startedAt), toH: hours(endedAt) })),
    })),
    // One gas for all of the closure is no event.
    ...(gas.some(({ isChange }) => isChange) ? gas : []).map(({ receipt, bottle, from, to }) => ({
      label: GAS_ROWS.lane(receipt, bottle),
      spans: [{ fromH: hours(from), toH: hours(to) }],
    })),
  ];
  const found = logFindingsOf(facts).filter(
    ({ build: of, startedAt, endedAt }) => of === build.build && startedAt && endedAt,
  );
  const drawn = [...found]
    .sort((a, b) => SEVERITY.indexOf(a.level) - SEVERITY.indexOf(b.level))
    .slice(0, MOST_DRAWN)
    .sort((a, b) => Date.parse(a.startedAt!) - Date.parse(b.startedAt!));
  const scene = timeline(
    {
      title: LOG_FIGURES.build(build.build),
      timeLabel: LOG_FIGURES.hours,
      lanes,
      findings: drawn.map((finding) => {
        const lane = laneOf(finding, lanes);
        const times = { fromH: hours(finding.startedAt!), toH: hours(finding.endedAt!) };
        const words = { level: finding.level, words: findingText(finding) };
        return lane === undefined ? { ...times, ...words } : { ...times, ...words, lane };
      }),
    },
    textMetric,
  );
  const left = found.length - drawn.length;
  return {
    scene,
    alt: LOG_FIGURES.buildAlt(
      lanes.map(({ label, spans }) =>
        LOG_FIGURES.step(label, spans.length, spanText(spans[0]?.fromH ?? 0, spans.at(-1)?.toH ?? 0)),
      ),
      found.map((finding) =>
        LOG_FIGURES.excursion(findingText(finding), spanText(hours(finding.startedAt!), hours(finding.endedAt!))),
      ),
    ),
    caption: LOG_FIGURES.buildCaption(left),
  };
}

const spanText = (fromH: number, toH: number): string => LOG_FIGURES.span(fromH, toH);

/** The smallest and the largest value of all stretches. */
function valuesText(drawn: readonly OutlineStretch[], ucum: string): string {
  const least = drawn.reduce((value, { min }) => Math.min(value, min), Number.POSITIVE_INFINITY);
  const most = drawn.reduce((value, { max }) => Math.max(value, max), Number.NEGATIVE_INFINITY);
  return LOG_FIGURES.values(least, most, tradeUnit(ucum));
}

const windowsText = (windows: readonly ChannelWindow[]): string[] => [
  ...new Set(windows.map(({ level, lower, upper }) => LOG_FIGURES.window(level, lower, upper))),
];

const laneName = (step: string): string => (step === '' ? ABSENT.noStep : stepText(step));

/** A finding of one step stands in the lane of that step; others concern the whole build. */
function laneOf({ steps }: LogFinding, lanes: readonly { label: string }[]): string | undefined {
  const [only, ...more] = steps;
  if (only === undefined || more.length > 0) return undefined;
  const label = laneName(only);
  return lanes.some((lane) => lane.label === label) ? label : undefined;
}

/** One logged channel over the layers of a build: smallest and largest value of each layer over all zones and steps. */
export function layerFigure(facts: Facts, build: Build, channel: string): LotFigure | undefined {
  const layers = new Map<number, { min: number; max: number }>();
  let ucum = '';
  for (const row of facts.summaries) {
    if (row.build !== build.build || row.channel !== channel || row.layer === '' || row.n === '0') continue;
    ucum = row.ucum;
    const known = layers.get(Number(row.layer));
    const [min, max] = [Number(row.min), Number(row.max)];
    if (known === undefined) layers.set(Number(row.layer), { min, max });
    else Object.assign(known, { min: Math.min(known.min, min), max: Math.max(known.max, max) });
  }
  if (layers.size === 0) return undefined;
  const outline = [...layers]
    .sort(([a], [b]) => a - b)
    .map(([layer, { min, max }]): OutlineStretch => ({ fromH: layer - 0.5, toH: layer + 0.5, min, max }));
  const [fromH, toH] = [outline[0]!.fromH, outline.at(-1)!.toH];
  const excursions = logFindingsOf(facts)
    .filter((finding) => finding.build === build.build && finding.channel === channel && isExcursion(finding))
    .flatMap(({ level, places }) => places.flatMap((place) => layersOf(place, level)));
  const windows = layerWindows(facts, build, channel, fromH, toH);
  const scene = channelPlot(
    {
      title: LOG_FIGURES.byLayer(channel, build.build),
      valueLabel: `${channel}${perUnit(ucum)}`,
      timeLabel: CHART_WORDS.layer,
      spanText: (from, to) => LOG_FIGURES.layers(Math.ceil(from), Math.floor(to)),
      outline,
      windows,
      excursions,
      gaps: [],
    },
    textMetric,
  );
  return {
    scene,
    alt: LOG_FIGURES.layerAlt(
      channel,
      {
        values: valuesText(outline, ucum),
        windows: windowsText(windows),
        excursions: excursions.map(({ fromH: from, toH: to, words }) =>
          LOG_FIGURES.excursion(words, LOG_FIGURES.layers(Math.ceil(from), Math.floor(to))),
        ),
        gaps: [],
      },
      layers.size,
    ),
    caption: LOG_FIGURES.layerCaption(channel),
  };
}

interface Drawn {
  readonly window: ChannelWindow;
  /** Zones and steps for which it holds; none for all of the chamber. */
  readonly of: string[];
}

/** Windows of the chamber over all layers, those of a step over the layers of its zone; equal ones of several zones once. */
function layerWindows(facts: Facts, build: Build, channel: string, fromH: number, toH: number): ChannelWindow[] {
  const drawn = new Map<string, Drawn>();
  for (const window of scanPlanOf(facts, build).windows) {
    if (window.channel !== channel) continue;
    const { scope } = window;
    const isChamber = scope === 'closure';
    const span = isChamber ? { fromH, toH } : { fromH: scope.layerFrom - 0.5, toH: scope.layerTo + 0.5 };
    const limits = { ...span, ...drawnLimits(window) };
    const key = JSON.stringify([limits, isChamber]);
    const known: Drawn = drawn.get(key) ?? { window: limits, of: [] };
    if (!isChamber) known.of.push(LOG_FIGURES.scope(scope.zone, stepText(scope.step)));
    drawn.set(key, known);
  }
  return [...drawn.values()].map(({ window, of: [first, ...more] }) =>
    first === undefined ? window : { ...window, of: more.length === 0 ? first : LOG_FIGURES.more(first, more.length) },
  );
}

function layersOf({ layerFrom, layerTo }: LogFinding['places'][number], level: LogFinding['level']) {
  if (layerFrom === null || layerTo === null) return [];
  return [{ fromH: layerFrom - 0.5, toH: layerTo + 0.5, level, words: LOG_FIGURES.levelPassed(level) }];
}
