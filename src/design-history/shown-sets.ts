import { AppError } from '../base/errors.js';
import { convert, isUnit } from '../base/units.js';
import type { Coordinates } from './ranges.js';

/** A value on an axis, as a document states it. */
export interface Stated<Axis> {
  readonly axis: Axis;
  readonly value: string;
  readonly ucum: string;
}

/** Something that was done, and with what values: a recipe that lots were built by, a window that one was built for. */
export interface Done<Axis, Source> {
  readonly stated: readonly Stated<Axis>[];
  readonly source: Source;
}

/** What was done with the same values. */
export interface ShownPoint<Source> {
  readonly at: Coordinates;
  readonly sources: readonly Source[];
}

/** What was done with values on the same axes: only such things can be compared. */
export interface ShownSet<Axis, Source> {
  readonly axes: readonly { readonly axis: Axis; readonly ucum: string }[];
  /** Different from each other, in the order of their values. */
  readonly points: readonly ShownPoint<Source>[];
}

/** What an axis is called, whatever is stated on it. */
export type AxisName<Axis> = (axis: Axis) => string;

/**
 * Brings together what states values on the same axes, each axis in one unit.
 * @param done in whatever order: sets come in the order of the names of their axes, points in that of their values.
 */
export function shownSets<Axis, Source>(
  done: readonly Done<Axis, Source>[],
  name: AxisName<Axis>,
): ShownSet<Axis, Source>[] {
  const units = axisUnits(done, name);
  const sets = new Map<
    string,
    { axes: ShownSet<Axis, Source>['axes']; points: Map<string, { at: Coordinates; sources: Source[] }> }
  >();
  for (const { stated, source } of done) {
    const placed = stated
      .map((one) => ({ ...one, unit: units(one) }))
      .map((one) => ({ ...one, id: `${name(one.axis)}\u0000${one.unit}` }))
      .sort((a, b) => compare(a.id, b.id));
    const key = placed.map(({ id }) => id).join('\u0001');
    const axes = placed.map(({ axis, unit }) => ({ axis, ucum: unit }));
    const set = sets.get(key) ?? sets.set(key, { axes, points: new Map() }).get(key)!;
    const at = placed.map(({ value, ucum, unit }) => inUnit(value, ucum, unit));
    const place = at.map(Number).join(' ');
    const known = set.points.get(place);
    if (known === undefined) set.points.set(place, { at, sources: [source] });
    else known.sources.push(source);
  }
  return [...sets]
    .sort(([a], [b]) => compare(a, b))
    .map(([, { axes, points }]) => ({
      axes,
      points: [...points.values()].sort((a, b) => byValues(a.at, b.at)),
    }));
}

/**
 * What is demanded on the axes of a set, in their units.
 * @returns the coordinates, or which axes of the two stand on one side alone.
 */
export function onAxes<Axis, Source>(
  { axes }: Pick<ShownSet<Axis, Source>, 'axes'>,
  demanded: readonly Stated<Axis>[],
  name: AxisName<Axis>,
):
  | { readonly at: Coordinates }
  | { readonly onlyDemanded: readonly Stated<Axis>[]; readonly onlyShown: readonly Axis[] } {
  const found = axes.map(({ axis, ucum }) =>
    demanded.find((one) => name(one.axis) === name(axis) && isAlike(one.ucum, ucum)),
  );
  const onlyDemanded = demanded.filter((one) => !found.includes(one));
  const onlyShown = axes.filter((_, index) => found[index] === undefined).map(({ axis }) => axis);
  if (onlyDemanded.length > 0 || onlyShown.length > 0) return { onlyDemanded, onlyShown };
  return { at: axes.map(({ ucum }, index) => inUnit(found[index]!.value, found[index]!.ucum, ucum)) };
}

/** Of each axis the unit in which all its values are told: of those that measure the same the one whose code comes first. */
function axisUnits<Axis, Source>(done: readonly Done<Axis, Source>[], name: AxisName<Axis>) {
  const found = new Map<string, string[]>();
  for (const { axis, ucum } of done.flatMap(({ stated }) => stated)) {
    const own = found.get(name(axis)) ?? found.set(name(axis), []).get(name(axis))!;
    if (!own.includes(ucum)) own.push(ucum);
  }
  for (const own of found.values()) own.sort();
  return ({ axis, ucum }: Stated<Axis>): string => found.get(name(axis))!.find((unit) => isAlike(unit, ucum))!;
}

const alike = new Map<string, boolean>();

/** Whether two units measure the same thing; a code that is none is like itself alone. */
function isAlike(a: string, b: string): boolean {
  if (a === b) return true;
  const key = `${a} ${b}`;
  const known = alike.get(key) ?? canConvert(a, b);
  alike.set(key, known);
  return known;
}

function canConvert(a: string, b: string): boolean {
  if (!isUnit(a) || !isUnit(b)) return false;
  try {
    convert('1', a, b);
    return true;
  } catch (error) {
    if (error instanceof AppError) return false;
    throw error;
  }
}

const inUnit = (value: string, from: string, to: string): string => (from === to ? value : convert(value, from, to));

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

function byValues(a: Coordinates, b: Coordinates): number {
  const axis = a.findIndex((text, index) => Number(text) !== Number(b[index]));
  return axis < 0 ? 0 : Number(a[axis]) - Number(b[axis]);
}
