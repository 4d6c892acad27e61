import type { ZoneWindow } from '../assessment/support-windows.js';
import { WINDOW_CONFIDENCE } from '../assessment/window-by-exposures.js';
import { limitDepthUm } from '../degradation/section-left.js';
import { deepestAt, measuredUm } from '../degradation/support-window.js';
import type { Facts } from '../dossier/facts.js';
import { textMetric } from '../pdf/shaping.js';
import { type AttackAt, lossChart } from './charts/loss-over-time.js';
import { type ZoneBar, zoneWindowsChart } from './charts/zone-windows.js';
import type { LotFigure } from './lot-figure.js';
import { LOSS_FIGURE, ZONES_FIGURE } from './phrases/figures/degradation.js';

const HOURS_PER_WEEK = 168;
/** Corners in one picture; more would lie over each other. */
const MOST_LIMITS = 6;
const STEPS = 60;

/**
 * Loss against time, once for each set of coupons that speaks for a class of zones; by itself for an implant of which a section
 * was measured.
 */
export function lossFigures(windows: readonly ZoneWindow[], simulation: Facts['simulation']): LotFigure[] {
  const known = windows.filter(({ loss, localisation }) => loss !== undefined && localisation !== undefined);
  const keyOf = ({ zoneClass, coupons, measured, serial, zone }: ZoneWindow) =>
    [zoneClass, ...coupons, ...(measured.length === 0 ? [] : [serial, zone])].join('\n');
  const groups = grouped(known, keyOf);
  return [...groups.values()].map((group) => lossFigure(group, simulation));
}

function lossFigure(group: readonly ZoneWindow[], simulation: Facts['simulation']): LotFigure {
  const [{ loss, localisation, losses, zoneClass = '', coupons, serial, section, measured }] = group as [ZoneWindow];
  // What was measured on the implant itself stands from then on, as in its window.
  const shownUm = (week: number) => (section === undefined ? 0 : measuredUm(section, measured, week));
  // A table of a section has no sizes: what was measured has no depth in it.
  const isUnread = section?.shape === 'table' && measured.length > 0;
  const longestWeeks = loss!.longestHours / HOURS_PER_WEEK;
  const weeks = loss!.durations.length === 1 ? [longestWeeks] : places(longestWeeks);
  const beyond = beyondAt(
    (week, by) => deepestAt(loss!, localisation!, WINDOW_CONFIDENCE, week, by),
    weeks,
    simulation,
  );
  const curve = weeks.flatMap((week, index): AttackAt[] => {
    if (week === 0) return [{ weeks: 0, meanUm: 0, lowerUm: 0, upperUm: 0 }];
    const first = deepestAt(loss!, localisation!, WINDOW_CONFIDENCE, week);
    if (first === undefined) return [];
    const more = beyond(index);
    const at = { ...first, lower: Math.max(0, first.lower - more.lower), upper: first.upper + more.upper };
    const [mean, lower, upper] = [at.mean, at.lower, at.upper].map((um) => Math.max(um, shownUm(week))) as Ends;
    return [{ weeks: week, meanUm: mean, ...(Number.isFinite(upper) ? { lowerUm: lower, upperUm: upper } : {}) }];
  });
  const limits = limitsOf(group);
  return {
    scene: lossChart(
      {
        title: LOSS_FIGURE.title(zoneClass, coupons, measured.length === 0 ? undefined : serial),
        curve: curve.some(({ weeks: at, lowerUm }) => at > 0 && lowerUm !== undefined) ? curve : curve.map(bare),
        specimens: losses.map(({ hours, depthUm }) => ({
          weeks: hours / HOURS_PER_WEEK,
          depthUm: depthUm * localisation!.factor,
        })),
        own: isUnread ? [] : measured.map(({ weeks: at }) => ({ weeks: at, depthUm: shownUm(at) })),
        limits: limits.slice(0, MOST_LIMITS),
        longestWeeks,
        notes: [
          LOSS_FIGURE.law(loss!.law?.law, loss!.why),
          ...(isUnread ? [LOSS_FIGURE.unread] : []),
          LOSS_FIGURE.factor(Number(localisation!.factor.toPrecision(3))),
          ...(limits.length > MOST_LIMITS ? [LOSS_FIGURE.more(limits.length - MOST_LIMITS)] : []),
        ],
      },
      textMetric,
    ),
    alt: LOSS_FIGURE.alt(zoneClass, Math.round(curve.at(-1)?.meanUm ?? 0), Number(longestWeeks.toFixed(1))),
    caption: LOSS_FIGURE.caption,
  };
}

/** Places of the curve of which the ends are simulated: between two of them what they have beyond first order goes straight. */
const SIMULATED_EVERY = 6;

/** How far, in µm, both ends by draws lie beyond those of first order at each place of a curve. */
function beyondAt(
  endsAt: (week: number, by?: Facts['simulation']) => ReturnType<typeof deepestAt>,
  weeks: readonly number[],
  simulation: Facts['simulation'],
) {
  const known = new Map<number, { readonly lower: number; readonly upper: number }>();
  const at = (index: number) => {
    const found = known.get(index) ?? simulatedAt(weeks[index]!);
    known.set(index, found);
    return found;
  };
  const simulatedAt = (week: number) => {
    const [first, both] = week === 0 || simulation === undefined ? [] : [endsAt(week), endsAt(week, simulation)];
    if (!first || !both || !Number.isFinite(first.upper)) return { lower: 0, upper: 0 };
    return { lower: first.lower - both.lower, upper: both.upper - first.upper };
  };
  return (index: number) => {
    const before = index - (index % SIMULATED_EVERY);
    if (before === index) return at(index);
    const after = Math.min(before + SIMULATED_EVERY, weeks.length - 1);
    const part = (index - before) / (after - before);
    const [a, b] = [at(before), at(after)];
    return { lower: a.lower + part * (b.lower - a.lower), upper: a.upper + part * (b.upper - a.upper) };
  };
}

type Ends = [mean: number, lower: number, upper: number];

const bare = ({ weeks, meanUm }: AttackAt): AttackAt => ({ weeks, meanUm });

const places = (longest: number): number[] => Array.from({ length: STEPS + 1 }, (_, step) => (step / STEPS) * longest);

/** Implants of which the same is asked share a corner. */
function limitsOf(group: readonly ZoneWindow[]) {
  const asked = group.flatMap(({ serial, zone, asked: of, section }) => {
    if (section === undefined) return [];
    const depthUm = limitDepthUm(section, { strength: of.strengthLeft, stiffness: of.stiffnessLeft });
    return [{ name: `${serial} ${zone}`, weeks: of.holdWeeks, depthUm }];
  });
  const shared = grouped(asked, ({ weeks, depthUm }) => `${weeks} ${depthUm}`);
  return [...shared.values()].map((all) => {
    const [{ weeks, depthUm }] = all as [(typeof all)[number]];
    const names = all.map(({ name }) => name);
    return { weeks, depthUm, label: LOSS_FIGURE.limit(names, Math.floor(depthUm), weeks) };
  });
}

/** What is told of a zone beside its bar: the words are those of the tables. */
export interface ZoneWords {
  readonly head: string;
  readonly lines: readonly string[];
}

/** The zones of an implant against their windows, or of several of which all is the same. */
export function zoneFigure(
  serials: readonly string[],
  zones: readonly ZoneWindow[],
  wordsOf: (window: ZoneWindow) => ZoneWords,
): LotFigure {
  const bars = zones.map((zone) => barOf(zone, wordsOf(zone)));
  const heads = bars.map(({ head }) => head);
  return {
    scene: zoneWindowsChart({ title: ZONES_FIGURE.title(serials), zones: bars }, textMetric),
    alt: ZONES_FIGURE.alt(serials, heads),
    caption: ZONES_FIGURE.caption,
  };
}

function barOf({ asked, answer }: ZoneWindow, { head, lines }: ZoneWords): ZoneBar {
  return { head, lines, left: 'why' in answer ? undefined : answer.strength, limit: asked.strengthLeft };
}

/** Items of one key together, in their order. */
export function grouped<T>(items: readonly T[], keyOf: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const known = groups.get(keyOf(item));
    if (known) known.push(item);
    else groups.set(keyOf(item), [item]);
  }
  return groups;
}
