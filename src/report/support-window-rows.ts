import { currentResults } from '../assessment/specimens.js';
import { LEAST_STIFFNESS, supportWindows, type ZoneWindow } from '../assessment/support-windows.js';
import type { LossOverTime } from '../degradation/loss-over-time.js';
import { HOURS_PER_YEAR } from '../degradation/physical-constants.js';
import type { Fraction, WindowAnswer } from '../degradation/support-window.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import { spacedUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import { grouped, lossFigures, type ZoneWords, zoneFigure } from './degradation-figures.js';
import type { LotFigure } from './lot-figure.js';
import { ZONES_FIGURE } from './phrases/figures/degradation.js';
import { WINDOWS } from './phrases/record-degradation.js';
import { TOUCHED_BY } from './phrases/touched-by.js';
import { stepText } from './phrases/trade-codes.js';
import { touchedBy } from './touched-by.js';

/** One zone of one implant against its window, as cells of a table. */
export interface WindowRow {
  readonly cells: readonly string[];
  readonly outcome: WindowAnswer['outcome'];
  /** What the outcome hangs on. */
  readonly why: string;
}

/** The zones of an implant, or of several of which all is the same: a table, and a picture. */
export interface TailoredZones {
  readonly caption: string;
  readonly rows: readonly (readonly string[])[];
  readonly figure: LotFigure;
}

export interface WindowTables {
  readonly windows: readonly WindowRow[];
  /** Other metals in the construct of a case that states some. */
  readonly metals: readonly string[];
  /** Loss against time, once for each set of coupons. */
  readonly figures: readonly LotFigure[];
  /** Settings of each zone beside what was measured there, implant by implant. */
  readonly zones: readonly TailoredZones[];
}

/** Windows and zones of a lot in words; nothing where neither case nor family states a window or nothing was exposed. */
export function windowTables(facts: Facts): WindowTables | undefined {
  if (facts.exposures.size === 0) return undefined;
  const all = supportWindows(facts);
  if (all.length === 0) return undefined;
  return {
    windows: all.map(windowRow),
    metals: metalsOf(facts, all),
    figures: lossFigures(all, facts.simulation),
    zones: tailoredZones(facts, all),
  };
}

const NO_METALS = 'none';

function metalsOf({ lot, cases }: Facts, all: readonly ZoneWindow[]): string[] {
  const asked = new Set(all.map(({ serial }) => serial));
  const stated = lot.body.implants.flatMap(({ serial, case: code }) => {
    const metals = cases.get(code)?.body.otherMetals;
    return !asked.has(serial) || metals === undefined || metals === NO_METALS ? [] : [{ serial, metals }];
  });
  return [...grouped(stated, ({ metals }) => metals)].map(([metals, same]) =>
    WINDOWS.metals(
      same.map(({ serial }) => serial),
      metals,
    ),
  );
}

function tailoredZones(facts: Facts, all: readonly ZoneWindow[]): TailoredZones[] {
  const implants = [...grouped(all, ({ serial }) => serial)].map(([serial, zones]) => ({
    serial,
    zones,
    rows: zones.map((zone) => tailoredRow(facts, zone)),
  }));
  // The picture draws what is asked and answered, which no cell tells in full.
  const drawn = (zones: readonly ZoneWindow[]) => zones.map(({ asked, answer }) => [asked, answer]);
  return [...grouped(implants, ({ rows, zones }) => JSON.stringify([rows, drawn(zones)])).values()].map((same) => {
    const serials = same.map(({ serial }) => serial);
    const [{ zones, rows }] = same as [(typeof same)[number]];
    const figure = zoneFigure(serials, zones, (zone) => zoneWords(facts, zone));
    return { caption: WINDOWS.tailored(serials), rows, figure };
  });
}

/** Settings, loss, strength, surface and window of one zone. */
function tailoredRow(facts: Facts, window: ZoneWindow): string[] {
  const { serial, zone, zoneClass, coupons, loss } = window;
  return [
    WINDOWS.zoneOf(zone, zoneClass),
    zoneClass === undefined ? '' : settingsOf(facts, serial, zoneClass),
    coupons.length === 0 ? WINDOWS.noCoupon : WINDOWS.lossOfCoupons(coupons, lostText(loss)),
    told(measuredThere(facts, window, ({ touchedBy: steps }) => steps === undefined)),
    told([...measuredThere(facts, window, ({ touchedBy: steps }) => steps !== undefined), ...touching(facts, window)]),
    headOf(window),
  ];
}

const told = (parts: readonly string[]): string => (parts.length === 0 ? WINDOWS.notMeasured : parts.join('; '));

/** What was measured of a class of zones, on the implant or on coupons that stand for it; rates stand beside. */
function itemsOf({ specification }: Facts, { zoneClass }: ZoneWindow): Characteristic[] {
  if (zoneClass === undefined) return [];
  return specification.body.characteristics.filter((item) => item.zoneClass === zoneClass && item.source === undefined);
}

function measuredThere(facts: Facts, window: ZoneWindow, isWanted: (item: Characteristic) => boolean): string[] {
  const coupons = facts.lot.body.coupons.filter(({ standsFor }) => standsFor.includes(window.serial));
  const specimens = new Set([window.serial, ...coupons.map(({ coupon }) => coupon)]);
  const rows = currentResults(facts).filter(({ specimen }) => specimens.has(specimen));
  return itemsOf(facts, window)
    .filter(isWanted)
    .flatMap(({ characteristic, title, ucum }) => {
      const values = rows.filter((row) => row.characteristic === characteristic).map(({ value }) => value);
      return values.length === 0 ? [] : [WINDOWS.measuredThere(title, valuesText(values, spacedUnit(ucum)))];
    });
}

/** One or two values as they are, more from the least to the greatest; a bound stays one. */
function valuesText(values: readonly string[], unit: string): string {
  const isPlain = values.every((value) => readReported(value).qualifier === '');
  if (values.length <= 2 || !isPlain) return `${values.join(', ')}${unit}`;
  const inOrder = [...values].sort((a, b) => Number(a) - Number(b));
  return WINDOWS.between(inOrder[0]!, inOrder.at(-1)!, unit, values.length);
}

/** Tips and media of the steps that touch the surface, each once. */
const touching = (facts: Facts, window: ZoneWindow): string[] => {
  const found = new Set(itemsOf(facts, window).flatMap((item) => touchedBy(facts, item)));
  return found.size === 0 ? [] : [TOUCHED_BY.told([...found])];
};

function headOf({ asked, answer }: ZoneWindow): string {
  const { holdWeeks } = asked;
  if ('why' in answer) return WINDOWS.weeksThen(holdWeeks, UNDECIDED, undefined);
  return WINDOWS.weeksThen(
    holdWeeks,
    answer.outcome,
    WINDOWS.marginOf(answer.marginWeeks, answer.isAtLeast, holdWeeks),
  );
}

function zoneWords(facts: Facts, window: ZoneWindow): ZoneWords {
  const { serial, zone, zoneClass, coupons, loss } = window;
  return {
    head: ZONES_FIGURE.head(WINDOWS.zoneOf(zone, zoneClass), headOf(window)),
    lines: [
      [
        ...(zoneClass === undefined ? [] : intervalsOf(facts, serial, zoneClass)),
        coupons.length === 0 ? WINDOWS.noCoupon : WINDOWS.lossOfCoupons(coupons, lostText(loss)),
      ].join('; '),
    ],
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
    return { cells, outcome: UNDECIDED, why };
  }
  const { outcome, marginWeeks, isAtLeast } = answer;
  const why = whyOf(asked, answer);
  return {
    cells: [
      ...head,
      left(answer.strength),
      left(answer.stiffness),
      why === undefined ? outcome : `${outcome}; ${why}`,
      WINDOWS.marginOf(marginWeeks, isAtLeast, asked.holdWeeks),
      coupons.join(', '),
    ],
    ...{ outcome, why: why ?? '' },
  };
}

const UNDECIDED = 'cannot be decided';

/** What an outcome hangs on: spreads that nobody knows, exposures that are too short, else what is known least. */
function whyOf({ holdWeeks, goneByWeeks = 0 }: ZoneWindow['asked'], answer: WindowAnswer): string | undefined {
  const { outcome, unknown, driver, longestWeeks, firstOrder } = answer;
  if (unknown.length > 0) return unknown.map((one) => WINDOWS.unknown[one]).join('; ');
  if (outcome === UNDECIDED && longestWeeks < Math.max(holdWeeks, goneByWeeks)) {
    return WINDOWS.longest(String(Number(longestWeeks.toFixed(1))));
  }
  const why = [
    ...(driver ? [WINDOWS.drivenBy(WINDOWS.driver[driver.source], percent(driver.share))] : []),
    ...(firstOrder === 'not enough' ? [WINDOWS.simulated] : []),
  ];
  return why.length === 0 ? undefined : why.join('; ');
}

/** Steps of the recipe of an implant for a class of zones, with what they are set to. */
function settingsOf(facts: Facts, serial: string, zoneClass: string): string {
  const told = stepsOf(facts, serial, zoneClass).map(({ step, everyLayers, parameters }) =>
    [
      stepText(step),
      ...(everyLayers === undefined ? [] : [WINDOWS.every(everyLayers)]),
      ...parameters.map(({ parameter, set, ucum }) => `${parameter} ${set}${spacedUnit(ucum)}`),
    ].join(', '),
  );
  return told.join('; ');
}

/** How often the zone is worked between its layers. */
const intervalsOf = (facts: Facts, serial: string, zoneClass: string): string[] =>
  stepsOf(facts, serial, zoneClass).flatMap(({ step, everyLayers }) =>
    everyLayers === undefined || everyLayers === 1 ? [] : [ZONES_FIGURE.interval(stepText(step), everyLayers)],
  );

function stepsOf({ lot, recipes }: Facts, serial: string, zoneClass: string) {
  const implant = lot.body.implants.find((one) => one.serial === serial);
  const recipe = recipes.get(revisionKey(implant!.recipe.recipe, implant!.recipe.revision))?.body;
  return recipe?.zones.find((zone) => zone.class === zoneClass)?.steps ?? [];
}

/** Mean loss of the longest exposure, and the rate that it comes to. */
function lostText(loss: LossOverTime | undefined): string {
  const last = loss?.durations.at(-1);
  if (last === undefined) return WINDOWS.notKnown;
  const rate = (last.meanUm * HOURS_PER_YEAR) / (1000 * last.hours);
  return WINDOWS.lossOf(threeDigits(last.meanUm), String(Number((last.hours / 168).toFixed(1))), threeDigits(rate));
}

const threeDigits = (value: number): string => String(Number(value.toPrecision(3)));
