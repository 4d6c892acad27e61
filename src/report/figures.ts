import { isGroup } from '../assessment/alike-findings.js';
import type { CapabilityResult } from '../assessment/assessment.js';
import { isExcursion } from '../assessment/checks/log-findings-decided.js';
import { countOf, logFindingsOf } from '../assessment/log-findings.js';
import type { Scene } from '../base/scene.js';
import type { Facts } from '../dossier/facts.js';
import type { Outline } from '../dossier/schema.js';
import { tradeUnit } from '../dossier/unit-text.js';
import { closuresOf } from '../kinds/build-chain.js';
import type { Build } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { textMetric } from '../pdf/shaping.js';
import type { ScanPlan, ScanWindow } from '../process-logs/plan.js';
import { planFromRecipe } from '../process-logs/plan-from-recipe.js';
import { RUN_RULE_MEANING, type RunRule } from '../statistics/run-rules.js';
import { type ChannelWindow, channelPlot, type OutlineStretch } from './charts/channel-plot.js';
import { genealogy } from './charts/genealogy.js';
import { histogram } from './charts/histogram.js';
import { individualsChart } from './charts/individuals.js';

/** A figure of a lot: the same scene on the page of the service and in the record. */
export interface LotFigure {
  readonly scene: Scene;
  /** Says what a person would see. */
  readonly alt: string;
  readonly caption: string;
}

const number = (text: string | undefined) => (text === undefined ? undefined : Number(text));

/** Leaves out what is undefined: the charts' fields are optional, not nullable. */
function given<T extends object>(fields: T): { [K in keyof T]: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as never;
}

/** Decimals that show a value a little finer than it was reported. */
function decimalsOf(points: CapabilityResult['points']): number {
  const places = points.map(({ value }) => (String(value).split('.')[1] ?? '').length);
  return Math.min(4, Math.max(0, ...places) + 1);
}

/** Short enough to stand beside a point; the notes of the capability tell a rule in full. */
const BESIDE_A_POINT: Partial<Record<RunRule, string>> = {
  nineOneSide: 'nine on one side',
  sixSteady: 'six rising or falling',
};

const inWords = (rule: string, value: number, centre: number): string => {
  if (rule === 'beyondLimit') return value > centre ? 'beyond upper limit' : 'beyond lower limit';
  return BESIDE_A_POINT[rule as RunRule] ?? RUN_RULE_MEANING[rule as RunRule] ?? rule;
};

/** Single values of the family in build order, those of this lot last. */
export function historyFigure(item: Characteristic, capability: CapabilityResult): LotFigure | undefined {
  const { points, chart, n } = capability;
  if (points.length === 0) return undefined;
  const flags = new Map<number, string>();
  for (const { index, rule } of chart?.signals ?? []) {
    flags.set(index - 1, inWords(rule, points[index - 1]!.value, chart!.centre));
  }
  const own = points.findIndex((point) => point.ofThisLot);
  const scene = individualsChart(
    {
      title: `${item.title}, single values in build order`,
      valueLabel: `${item.title} /${tradeUnit(item.ucum)}`,
      orderLabel: 'Specimen in build order',
      points: points.map((point, index) =>
        given({ label: point.specimen, value: point.value, flag: flags.get(index) }),
      ),
      decimals: decimalsOf(points),
      ...given({
        centre: chart?.centre,
        lowerLimit: chart?.lower,
        upperLimit: chart?.upper,
        lowerSpecification: number(item.lower),
        upperSpecification: number(item.upper),
        target: number(item.target),
        phases: own > 0 ? [{ startsAt: own, label: 'this lot' }] : undefined,
      }),
    } as never,
    textMetric,
  );
  return {
    scene,
    alt: `${n} values of earlier builds and ${points.length - n} of this lot in the order of building, between ${Math.min(...points.map((p) => p.value))} and ${Math.max(...points.map((p) => p.value))} ${tradeUnit(item.ucum)}.`,
    caption: `${item.title}: values of earlier builds that the pooling rule admits, then those of this lot. Limits of the chart are computed from the earlier values.`,
  };
}

/** Values of the family against the limits. */
export function histogramFigure(item: Characteristic, capability: CapabilityResult): LotFigure | undefined {
  const { points, mean, sd, n } = capability;
  if (points.length < 2) return undefined;
  const scene = histogram(
    {
      title: `${item.title} against its limits`,
      valueLabel: `${item.title} /${tradeUnit(item.ucum)}`,
      values: points.map((point) => point.value),
      decimals: decimalsOf(points),
      ...given({
        lower: number(item.lower),
        upper: number(item.upper),
        target: number(item.target),
        normal: mean !== null && sd !== null && sd > 0 ? { mean, sd } : undefined,
      }),
    } as never,
    textMetric,
  );
  return {
    scene,
    alt: `Histogram of ${points.length} values with the limits of the specification.`,
    caption: `${item.title}: ${n} values of earlier builds and ${points.length - n} of this lot. The curve is the normal distribution with mean and standard deviation of the earlier values.`,
  };
}

export const HOUR_MS = 3_600_000;

function stretches(outline: Outline, closedMs: number): OutlineStretch[] {
  const hours = (bucket: number) => (outline.startMs + bucket * outline.bucketMs - closedMs) / HOUR_MS;
  return outline.min.flatMap((min, bucket) => {
    const max = outline.max[bucket] ?? null;
    return min === null || max === null ? [] : [{ fromH: hours(bucket), toH: hours(bucket + 1), min, max }];
  });
}

/** What the log of a build was scanned for, by all recipes that ran in it, in the units of its outlines. */
export function scanPlanOf(facts: Facts, build: Build): ScanPlan {
  const recipes = new Map([...facts.recipes].map(([key, { body }]) => [key, body]));
  return planFromRecipe(facts.lot.body, build, recipes);
}

/** The limits of a window as a plot shows them. */
export const drawnLimits = ({ level, low, high }: ScanWindow): Pick<ChannelWindow, 'level' | 'lower' | 'upper'> =>
  given({ level, lower: low ?? undefined, upper: high ?? undefined });

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
export function channelFigure(facts: Facts, build: Build, channel: string): LotFigure | undefined {
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
  const scene = channelPlot(
    {
      title: `${channel} in build ${build.build}`,
      valueLabel: `${channel} /${tradeUnit(outline.ucum)}`,
      timeLabel: 'Hours since the chamber was closed',
      outline: stretches(outline, closedMs),
      windows: chamberWindows(facts, build, channel),
      excursions: excursions.map((finding) => ({
        fromH: hours(finding.startedAt!),
        toH: hours(finding.endedAt!),
        level: finding.level,
        words: isGroup(finding)
          ? `${finding.members.length} times ${finding.level} level passed`
          : `${finding.level} level passed`,
        spans: finding.members.flatMap(({ startedAt, endedAt }) =>
          startedAt && endedAt ? [{ fromH: hours(startedAt), toH: hours(endedAt) }] : [],
        ),
      })),
      gaps: part.gaps.map((gap) => ({ fromH: hours(gap.startedAt), toH: hours(gap.endedAt) })),
    },
    textMetric,
  );
  return {
    scene,
    alt: `${channel} over the build with its window; ${countOf(excursions)} excursion(s), ${part.gaps.length} gap(s).`,
    caption: `Band between the smallest and largest ${channel} in each stretch of time, from the whole log of build ${build.build}.`,
  };
}

/** From heats through receipts and powder states to the builds and implants of the lot. */
export function genealogyFigure(facts: Facts): LotFigure {
  const { lot } = facts;
  const nodes: { id: string; title: string; detail: string }[] = [];
  const edges: { from: string; to: string }[] = [];
  for (const receipt of facts.receipts.values()) {
    if (receipt.body.category !== 'powder') continue;
    nodes.push({
      id: `r ${receipt.body.receipt}`,
      title: receipt.body.receipt,
      detail: `receipt, ${receipt.body.status}`,
    });
    for (const heat of receipt.body.heats) {
      const id = `h ${receipt.body.supplier} ${heat}`;
      if (!nodes.some((node) => node.id === id))
        nodes.push({ id, title: heat, detail: `heat, ${receipt.body.supplier}` });
      edges.push({ from: id, to: `r ${receipt.body.receipt}` });
    }
  }
  for (const state of facts.powderStates.values()) {
    const { state: code, operation, inputs } = state.body;
    const mass = inputs.reduce((sum, input) => sum + Number(input.massG), 0);
    nodes.push({ id: `s ${code}`, title: code, detail: `${operation}, ${Number(mass.toPrecision(9))} g` });
    for (const input of inputs) {
      edges.push({ from: 'receipt' in input ? `r ${input.receipt}` : `s ${input.state}`, to: `s ${code}` });
    }
  }
  for (const build of lot.body.builds) {
    nodes.push({ id: `b ${build.build}`, title: build.build, detail: 'build' });
    for (const powder of build.powder) edges.push({ from: `s ${powder.state}`, to: `b ${build.build}` });
  }
  for (const implant of lot.body.implants) {
    nodes.push({ id: `i ${implant.serial}`, title: implant.serial, detail: `implant, case ${implant.case}` });
    for (const build of closuresOf(implant)) edges.push({ from: `b ${build}`, to: `i ${implant.serial}` });
  }
  return {
    scene: genealogy({ title: `Where the metal of lot ${lot.body.lot} came from`, nodes, edges }, textMetric),
    alt: `Graph from ${nodes.filter((node) => node.id.startsWith('h ')).length} heats through powder states to ${lot.body.implants.length} implants.`,
    caption: 'Heats, receipts and powder states with their masses, up to the implants. Arrows run from what went in.',
  };
}
