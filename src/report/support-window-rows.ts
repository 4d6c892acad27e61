import { LEAST_STIFFNESS, supportWindows, type ZoneWindow } from '../assessment/support-windows.js';
import type { LossOverTime } from '../degradation/loss-over-time.js';
import { HOURS_PER_YEAR } from '../degradation/physical-constants.js';
import type { Fraction, WindowAnswer } from '../degradation/support-window.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import { spacedUnit } from '../dossier/unit-text.js';
import { lossFigures, type ZoneWords, zoneFigures } from './degradation-figures.js';
import type { LotFigure } from './lot-figure.js';
import { ZONES_FIGURE } from './phrases/figures/degradation.js';
import { WINDOWS } from './phrases/record-degradation.js';
import { stepText } from './phrases/trade-codes.js';

/** One zone of one implant against its window, as cells of a table. */
export interface WindowRow {
  readonly cells: readonly string[];
  readonly isAttention: boolean;
}

export interface WindowTables {
  readonly windows: readonly WindowRow[];
  /** Settings of each class of zones beside what its coupons lost. */
  readonly zones: readonly (readonly string[])[];
  /** Loss against time first, then the zones of each implant. */
  readonly figures: readonly LotFigure[];
}

/** Windows and zones of a lot in words; nothing where neither case nor family states a window or nothing was exposed. */
export function windowTables(facts: Facts): WindowTables | undefined {
  if (facts.exposures.size === 0) return undefined;
  const all = supportWindows(facts);
  if (all.length === 0) return undefined;
  return {
    windows: all.map(windowRow),
    zones: zoneRows(facts, all),
    figures: [...lossFigures(all), ...zoneFigures(all, (one) => zoneWords(facts, one))],
  };
}

function zoneWords(facts: Facts, { serial, zone, zoneClass, asked, answer, coupons, loss }: ZoneWindow): ZoneWords {
  const outcome = 'why' in answer ? UNDECIDED : answer.outcome;
  const margin = 'why' in answer ? undefined : WINDOWS.marginOf(answer.marginWeeks, answer.isAtLeast);
  return {
    head: ZONES_FIGURE.head(zone, zoneClass, asked.holdWeeks, outcome, margin),
    lines: [
      zoneClass === undefined ? '' : settingsOf(facts, serial, zoneClass),
      ZONES_FIGURE.coupons(coupons, lostText(loss)),
    ].filter((line) => line !== ''),
  };
}

const percent = (fraction: number): string => threeDigits(100 * fraction);

const left = (fraction: Fraction | undefined): string =>
  fraction === undefined
    ? WINDOWS.notKnown
    : WINDOWS.left(...([fraction.mean, fraction.lower, fraction.upper].map(percent) as [string, string, string]));

function windowRow({ serial, zone, asked, from, answer, coupons }: ZoneWindow): WindowRow {
  const { holdWeeks, strengthLeft, stiffnessLeft, goneByWeeks } = asked;
  const stiffness = stiffnessLeft === LEAST_STIFFNESS ? undefined : percent(stiffnessLeft);
  const head = [`${serial}, ${zone}`, WINDOWS.windowOf(holdWeeks, percent(strengthLeft), stiffness, goneByWeeks, from)];
  if ('why' in answer) {
    const why = answer.why === 'apart' ? WINDOWS.apart(answer.what, answer.a, answer.b) : WINDOWS.why[answer.why];
    const cells = [...head, WINDOWS.notKnown, WINDOWS.notKnown, `${UNDECIDED}: ${why}`, '', coupons.join(', ')];
    return { cells, isAttention: true };
  }
  const { outcome, marginWeeks, isAtLeast } = answer;
  const told = whyOf(asked, answer);
  return {
    cells: [
      ...head,
      left(answer.strength),
      left(answer.stiffness),
      told === undefined ? outcome : `${outcome}; ${told}`,
      WINDOWS.marginOf(marginWeeks, isAtLeast),
      coupons.join(', '),
    ],
    isAttention: outcome !== 'inside',
  };
}

const UNDECIDED = 'cannot be decided';

/** What an outcome hangs on: spreads that nobody knows, exposures that are too short, else what is known least. */
function whyOf({ holdWeeks, goneByWeeks = 0 }: ZoneWindow['asked'], answer: WindowAnswer): string | undefined {
  const { outcome, unknown, driver, longestWeeks } = answer;
  if (unknown.length > 0) return unknown.map((one) => WINDOWS.unknown[one]).join('; ');
  if (outcome === UNDECIDED && longestWeeks < Math.max(holdWeeks, goneByWeeks)) {
    return WINDOWS.longest(String(Number(longestWeeks.toFixed(1))));
  }
  return driver && WINDOWS.drivenBy(WINDOWS.driver[driver.source], percent(driver.share));
}

/** A class that implants of several recipes have stands once for each of its settings. */
function zoneRows(facts: Facts, all: readonly ZoneWindow[]): string[][] {
  const found = new Map<string, string[]>();
  for (const { serial, zoneClass, loss, coupons } of all) {
    if (zoneClass === undefined) continue;
    const settings = settingsOf(facts, serial, zoneClass);
    const name = `${zoneClass}\n${settings}`;
    if (!found.has(name)) found.set(name, [zoneClass, settings, lostText(loss), coupons.join(', ')]);
  }
  return [...found.values()];
}

/** Steps of the recipe of an implant for a class of zones, with what they are set to. */
function settingsOf({ lot, recipes }: Facts, serial: string, zoneClass: string): string {
  const implant = lot.body.implants.find((one) => one.serial === serial);
  const recipe = recipes.get(revisionKey(implant!.recipe.recipe, implant!.recipe.revision))?.body;
  const steps = recipe?.zones.find((zone) => zone.class === zoneClass)?.steps ?? [];
  const told = steps.map(({ step, everyLayers, parameters }) =>
    [
      stepText(step),
      ...(everyLayers === undefined ? [] : [WINDOWS.every(everyLayers)]),
      ...parameters.map(({ parameter, set, ucum }) => `${parameter} ${set}${spacedUnit(ucum)}`),
    ].join(', '),
  );
  return told.join('; ');
}

/** Mean loss of the longest exposure, and the rate that it comes to. */
function lostText(loss: LossOverTime | undefined): string {
  const last = loss?.durations.at(-1);
  if (last === undefined) return WINDOWS.notKnown;
  const rate = (last.meanUm * HOURS_PER_YEAR) / (1000 * last.hours);
  return WINDOWS.lossOf(threeDigits(last.meanUm), String(Number((last.hours / 168).toFixed(1))), threeDigits(rate));
}

const threeDigits = (value: number): string => String(Number(value.toPrecision(3)));
