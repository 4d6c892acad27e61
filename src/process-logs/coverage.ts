import type { FindingDetail } from '../dossier/finding-detail.js';
import { everywhere, type FindingDraft, placeFinding } from './findings.js';
import { Places } from './places.js';
import type { ExpectedStep, ExpectedZone, ScanPlan } from './plan.js';
import type { Stretch } from './stretch.js';
import { readTimestampUs } from './timestamp.js';

/** Closing and opening are written down by people, to the minute; logs start and end on their own clock. */
const CLOSURE_TOLERANCE_US = 60_000_000;

/** What the log should have held and does not, and what it holds that the lot does not know. */
export function coverageFindings(plan: ScanPlan, stretches: readonly Stretch[]): FindingDraft[] {
  return [
    ...outsideClosure(plan, stretches),
    ...unloggedChannels(plan),
    ...plan.expected.flatMap((zone) => zoneFindings(zone, stretches)),
    ...strangePlaces(plan, stretches),
  ];
}

/** Where a log has lines beyond its first or last row that could not be used. */
export interface CutLog {
  readonly atStart: boolean;
  readonly atEnd: boolean;
}

/**
 * The time between closing and opening for which the log has no row at all. Where it had lines that could not be used, no
 * minute is forgiven: it was recorded then, and what was recorded is not known.
 */
export function shortLog(
  { closure, gapLimitMs }: ScanPlan,
  firstUs: number,
  endUs: number,
  isCut: CutLog,
): FindingDraft[] {
  if (closure === null) return [];
  const findings: FindingDraft[] = [];
  const closedUs = readTimestampUs(closure.closedAt)!;
  const openedUs = readTimestampUs(closure.openedAt)!;
  const toleranceUs = (cut: boolean) => Math.max(gapLimitMs * 1000, cut ? 0 : CLOSURE_TOLERANCE_US);
  if (firstUs > closedUs + toleranceUs(isCut.atStart)) {
    const times = { startUs: closedUs, endUs: firstUs, durationUs: firstUs - closedUs };
    findings.push(placeFinding('log starts late', 'action', everywhere(), times));
  }
  if (endUs < openedUs - toleranceUs(isCut.atEnd)) {
    const times = { startUs: endUs, endUs: openedUs, durationUs: openedUs - endUs };
    findings.push(placeFinding('log ends early', 'action', everywhere(), times));
  }
  return findings;
}

function outsideClosure({ closure }: ScanPlan, stretches: readonly Stretch[]): FindingDraft[] {
  if (closure === null) return [];
  const closedUs = readTimestampUs(closure.closedAt)!;
  const openedUs = readTimestampUs(closure.openedAt)!;
  const outside = stretches.filter(
    ({ zone, firstUs, lastUs }) =>
      zone !== '' && (firstUs < closedUs - CLOSURE_TOLERANCE_US || lastUs > openedUs + CLOSURE_TOLERANCE_US),
  );
  return outside.length === 0 ? [] : [together('logged with open chamber', 'action', outside)];
}

/** A window or a setting on a channel that the log does not have cannot be watched. */
function unloggedChannels({ channels, windows, setValues }: ScanPlan): FindingDraft[] {
  const logged = new Set(channels.map((channel) => channel.name));
  const placesOf = new Map<string, Places>();
  for (const { channel, scope } of [...windows, ...setValues]) {
    if (logged.has(channel)) continue;
    const places = placesOf.get(channel) ?? new Places();
    if (scope === 'closure') places.add(null, null);
    else places.addRange(scope.zone, scope.layerFrom, scope.layerTo, scope.step);
    placesOf.set(channel, places);
  }
  return [...placesOf].map(([channel, places]) =>
    placeFinding('channel not logged', 'action', places, { what: { code: 'channel', channel } }),
  );
}

function zoneFindings(zone: ExpectedZone, stretches: readonly Stretch[]): FindingDraft[] {
  const own = stretches.filter((stretch) => stretch.zone === zone.zone);
  if (own.length === 0) {
    // What the recipe of a finishing build leaves as it is.
    if (zone.isFinishing && zone.steps.length === 0) return [];
    return [placeFinding('zone never logged', 'action', rangePlaces(zone, zone.layerFrom, zone.layerTo))];
  }
  return zone.steps.flatMap((step) => stepFindings(zone, step, own));
}

function stepFindings(zone: ExpectedZone, step: ExpectedStep, own: readonly Stretch[]): FindingDraft[] {
  return zone.isFinishing ? finishingFindings(zone, step, own) : depositingFindings(zone, step, own);
}

/** Work on a part that stands there already follows no layers: how often it was done at which of them says nothing. */
function finishingFindings(zone: ExpectedZone, step: ExpectedStep, own: readonly Stretch[]): FindingDraft[] {
  if (own.some((stretch) => stretch.step === step.step)) return durationFindings(step, own, true);
  return [placeFinding('step never logged', 'action', rangePlaces(zone, zone.layerFrom, zone.layerTo, step.step))];
}

function depositingFindings(zone: ExpectedZone, step: ExpectedStep, own: readonly Stretch[]): FindingDraft[] {
  const layers = own
    .filter((stretch) => stretch.step === step.step && stretch.layer !== null)
    .map((stretch) => stretch.layer!)
    .filter((layer) => layer >= zone.layerFrom && layer <= zone.layerTo)
    .sort((a, b) => a - b);
  const before = lastDueBefore(zone, step);
  if (layers.length === 0) {
    // Nothing is due in a build that was interrupted soon, or in a zone of few layers.
    if (zone.layerTo - before < step.everyLayers) return [];
    const places = rangePlaces(zone, zone.layerFrom, zone.layerTo, step.step);
    return [placeFinding('step never logged', 'action', places)];
  }
  const findings = skippedRanges(zone, step, layers).map(([from, to]) =>
    placeFinding('layers never logged', 'action', rangePlaces(zone, from, to, step.step)),
  );
  const early = layers.filter((layer, index) => layer - (layers[index - 1] ?? before) < step.everyLayers);
  if (early.length > 0) {
    const places = new Places();
    for (const layer of early) places.add(zone.zone, layer, step.step);
    const what = { code: 'too soon', times: early.length, everyLayers: step.everyLayers } as const;
    findings.push(placeFinding('step repeated early', 'action', places, { what }));
  }
  return [...findings, ...durationFindings(step, own)];
}

/** A step that is cut short has not done its work; one that was done twice takes longer. */
function durationFindings(
  { step, shortestMs, longestMs }: ExpectedStep,
  own: readonly Stretch[],
  isFinishing = false,
): FindingDraft[] {
  const done = own.filter((stretch) => stretch.step === step && (stretch.layer !== null || isFinishing));
  const isShort = ({ heldUs }: Stretch) => shortestMs !== null && heldUs < shortestMs * 1000;
  // Without layers it is not known over how many of them the time was spent.
  const isLong = ({ heldUs, layer }: Stretch) => longestMs !== null && layer !== null && heldUs > longestMs * 1000;
  return [
    ...done.filter(isShort).map((stretch) => durationFinding('too short', stretch, shortestMs!)),
    ...done.filter(isLong).map((stretch) => durationFinding('too long', stretch, longestMs!)),
  ];
}

function durationFinding(code: 'too short' | 'too long', stretch: Stretch, limitMs: number): FindingDraft {
  const what = { code, lastedS: stretch.heldUs / 1_000_000, limitS: limitMs / 1000 };
  return { ...together(`step ${code}`, 'action', [stretch], what), durationUs: stretch.heldUs };
}

/** The layer before this build at which the step was due last. */
function lastDueBefore({ layerFrom, firstLayer }: ExpectedZone, { everyLayers }: ExpectedStep): number {
  return firstLayer - 1 + Math.floor((layerFrom - firstLayer) / everyLayers) * everyLayers;
}

/** Layer ranges over which a step that is due every so many layers was not logged. */
function skippedRanges(zone: ExpectedZone, step: ExpectedStep, layers: readonly number[]): [number, number][] {
  const ranges: [number, number][] = [];
  let last = lastDueBefore(zone, step);
  const skip = (to: number) => ranges.push([Math.max(last + 1, zone.layerFrom), to]);
  for (const layer of layers) {
    if (layer - last > step.everyLayers) skip(layer - 1);
    last = layer;
  }
  if (zone.layerTo - last >= step.everyLayers) skip(zone.layerTo);
  return ranges;
}

/** Zones, layers and steps that the log names and the lot does not, and rows that hide to which limits they belong. */
function strangePlaces(plan: ScanPlan, stretches: readonly Stretch[]): FindingDraft[] {
  const { expected } = plan;
  if (expected.length === 0) return [];
  const zones = new Map(expected.map((zone) => [zone.zone, zone]));
  const watched = [...plan.windows, ...plan.setValues].flatMap(({ scope }) => (scope === 'closure' ? [] : [scope]));
  const watchedZones = new Set(watched.map(({ zone }) => zone));
  const watchedSteps = new Set(watched.map(({ step }) => step));
  type Strange = Pick<FindingDraft, 'rule' | 'level'> & { readonly what: FindingDetail; readonly of: Stretch[] };
  const strange = new Map<string, Strange>();
  const note = (rule: Strange['rule'], level: Strange['level'], what: FindingDetail, stretch: Stretch) => {
    const key = JSON.stringify([rule, what]);
    const entry = strange.get(key) ?? { rule, level, what, of: [] };
    entry.of.push(stretch);
    strange.set(key, entry);
  };
  for (const stretch of stretches) {
    if (stretch.zone === '') {
      const what = { code: 'no zone named', step: stretch.step } as const;
      if (watchedSteps.has(stretch.step)) note('unknown zone', 'action', what, stretch);
      continue;
    }
    const zone = zones.get(stretch.zone);
    if (zone === undefined) {
      note('unknown zone', 'action', { code: 'zone', zone: stretch.zone }, stretch);
      continue;
    }
    if (stretch.step === '') {
      const level = watchedZones.has(stretch.zone) ? 'action' : 'alert';
      note('unknown step', level, { code: 'no step named', zone: stretch.zone }, stretch);
    } else if ((zone.steps.length > 0 || zone.isFinishing) && !zone.steps.some((step) => step.step === stretch.step)) {
      // A step that no recipe knows has no windows of its own: noted, since each planned step must be logged anyway.
      note('unknown step', 'alert', { code: 'step', step: stretch.step, zone: stretch.zone }, stretch);
    }
    if (stretch.layer !== null && (stretch.layer < zone.layerFrom || stretch.layer > zone.layerTo)) {
      note('layers outside the zone', 'action', { code: 'zone', zone: stretch.zone }, stretch);
    }
  }
  return [...strange.values()].map(({ rule, level, what, of }) => together(rule, level, of, what));
}

function together(
  rule: FindingDraft['rule'],
  level: FindingDraft['level'],
  stretches: readonly Stretch[],
  what?: FindingDetail,
): FindingDraft {
  const places = new Places();
  for (const { covers, step } of stretches) places.add(covers.zone, covers.layer, step);
  const facts = {
    startUs: leastOf(stretches.map((stretch) => stretch.firstUs)),
    endUs: greatestOf(stretches.map((stretch) => stretch.lastUs)),
    rows: stretches.reduce((sum, stretch) => sum + stretch.rows, 0),
    lineFrom: leastOf(stretches.map((stretch) => stretch.lineFrom)),
    lineTo: greatestOf(stretches.map((stretch) => stretch.lineTo)),
  };
  return placeFinding(rule, level, places, what === undefined ? facts : { ...facts, what });
}

function rangePlaces(zone: ExpectedZone, from: number, to: number, step?: string): Places {
  const places = new Places();
  places.addRange(zone.zone, from, to, step);
  return places;
}

/** Not by spreading into Math.min: a log may have more stretches than a call takes arguments. */
function leastOf(values: readonly number[]): number {
  return values.reduce((least, value) => Math.min(least, value), Number.POSITIVE_INFINITY);
}

function greatestOf(values: readonly number[]): number {
  return values.reduce((greatest, value) => Math.max(greatest, value), Number.NEGATIVE_INFINITY);
}
