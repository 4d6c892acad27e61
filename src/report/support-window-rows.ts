import { LEAST_STIFFNESS, supportWindows, type ZoneWindow } from '../assessment/support-windows.js';
import type { Fraction, WindowAnswer } from '../degradation/support-window.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
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
}

/** Windows and zones of a lot in words; nothing where neither case nor family states a window or nothing was exposed. */
export function windowTables(facts: Facts): WindowTables | undefined {
  if (facts.exposures.size === 0) return undefined;
  const all = supportWindows(facts);
  if (all.length === 0) return undefined;
  return { windows: all.map(windowRow), zones: zoneRows(facts, all) };
}

const percent = (fraction: number): string => String(Number((100 * fraction).toPrecision(3)));

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

function zoneRows({ lot, recipes }: Facts, all: readonly ZoneWindow[]): string[][] {
  const classes = [...new Set(all.flatMap(({ zoneClass }) => zoneClass ?? []))];
  return classes.map((zoneClass) => {
    const { loss, coupons } = all.find((one) => one.zoneClass === zoneClass)!;
    const [implant] = lot.body.implants;
    const recipe = recipes.get(revisionKey(implant!.recipe.recipe, implant!.recipe.revision))?.body;
    const steps = recipe?.zones.find((zone) => zone.class === zoneClass)?.steps ?? [];
    const settings = steps.map(({ step, everyLayers, parameters }) =>
      [
        stepText(step),
        ...(everyLayers === undefined ? [] : [WINDOWS.every(everyLayers)]),
        ...parameters.map(({ parameter, set, ucum }) => `${parameter} ${set} ${ucum}`),
      ].join(', '),
    );
    const last = loss?.durations.at(-1);
    const lost = last
      ? WINDOWS.lossOf(String(Number(last.meanUm.toPrecision(3))), String(Number((last.hours / 168).toFixed(1))))
      : WINDOWS.notKnown;
    return [zoneClass, settings.join('; '), lost, coupons.join(', ')];
  });
}
