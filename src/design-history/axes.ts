import type { CaseDesign } from '../kinds/cases/case-design.js';
import type { LoadSection } from '../kinds/cases/load-section.js';
import type { Recipe } from '../kinds/recipe.js';
import type { Stated } from './shown-sets.js';

/** What may differ from lot to lot: a setting of a step, how often a step is done, what a window asks, a section, a design. */
export type RangeAxis =
  | {
      readonly of: 'setting';
      /** Class of the zone, where settings of several classes stand together. */
      readonly zoneClass: string;
      readonly step: Recipe['zones'][number]['steps'][number]['step'];
      /** As the recipe names it; null for every how many layers the step is done. */
      readonly parameter: string | null;
    }
  | { readonly of: 'window'; readonly what: 'holdWeeks' | 'strengthLeft' | 'stiffnessLeft' | 'goneByWeeks' }
  | { readonly of: 'section'; readonly what: 'plate' | 'round' | 'areaMm2' | 'sectionModulusMm3' | 'secondMomentMm4' }
  | { readonly of: 'design'; readonly parameter: string };

export function axisName(axis: RangeAxis): string {
  if (axis.of === 'setting') return [axis.of, axis.zoneClass, axis.step, axis.parameter ?? ''].join('\u0000');
  if (axis.of === 'design') return `${axis.of}\u0000${axis.parameter}`;
  return `${axis.of}\u0000${axis.what}`;
}

/** Unit of a count or a fraction. */
const NUMBER = '1';

/** What a recipe says of a class of zones, as values on axes. */
export type ClassSettings =
  | { readonly stated: readonly Stated<RangeAxis>[] }
  /** Two zones of the class are set differently, or the recipe has none of the class. */
  | { readonly why: 'differs within' | 'no such class' };

/**
 * Settings of all zones of a class.
 * @param zoneClass empty for the whole part: the settings of every class, each by its name.
 */
export function settingsOfClass({ zones }: Pick<Recipe, 'zones'>, zoneClass: string): ClassSettings {
  const classes = zoneClass === '' ? [...new Set(zones.map((zone) => zone.class))] : [zoneClass];
  const found: Stated<RangeAxis>[] = [];
  for (const one of classes) {
    const own = zones
      .filter((zone) => zone.class === one)
      .map((zone) => settingsOfZone(zone, zoneClass === '' ? one : ''));
    const [first, ...others] = own;
    if (first === undefined) return { why: 'no such class' };
    if (others.some((other) => told(other) !== told(first))) return { why: 'differs within' };
    found.push(...first);
  }
  return { stated: found };
}

const settingsOfZone = ({ steps }: Recipe['zones'][number], zoneClass: string): Stated<RangeAxis>[] =>
  steps.flatMap(({ step, everyLayers, parameters }) => [
    { axis: { of: 'setting', zoneClass, step, parameter: null } as const, value: String(everyLayers), ucum: NUMBER },
    ...parameters.map(({ parameter, set, ucum }) => ({
      ...{ axis: { of: 'setting', zoneClass, step, parameter } as const, value: set, ucum },
    })),
  ]);

const told = (stated: readonly Stated<RangeAxis>[]): string =>
  stated
    .map(({ axis, value, ucum }) => `${axisName(axis)} ${Number(value)} ${ucum}`)
    .sort()
    .join('\n');

/** What a support window asks of a zone, by case or family. */
export interface WindowOfZone {
  readonly holdWeeks: number;
  readonly strengthLeft: string;
  readonly stiffnessLeft?: string | undefined;
  readonly goneByWeeks?: number | undefined;
}

/** A window and the section that has to hold for it, as values on axes. */
export function statedWindow(window: WindowOfZone, section: LoadSection | undefined): Stated<RangeAxis>[] {
  const { holdWeeks, strengthLeft, stiffnessLeft, goneByWeeks } = window;
  const asked = [
    ['holdWeeks', String(holdWeeks), NUMBER],
    ['strengthLeft', strengthLeft, NUMBER],
    ['stiffnessLeft', stiffnessLeft, NUMBER],
    ['goneByWeeks', goneByWeeks === undefined ? undefined : String(goneByWeeks), NUMBER],
  ] as const;
  return [
    ...asked.flatMap(([what, value, ucum]) =>
      value === undefined ? [] : [{ axis: { of: 'window', what } as const, value, ucum }],
    ),
    ...statedSection(section),
  ];
}

function statedSection(section: LoadSection | undefined): Stated<RangeAxis>[] {
  if (section === undefined) return [];
  if (section.shape !== 'table')
    return [{ axis: { of: 'section', what: section.shape }, value: section.sizeMm, ucum: 'mm' }];
  const whole = section.rows[0]!;
  return (
    [
      ['areaMm2', 'mm2'],
      ['sectionModulusMm3', 'mm3'],
      ['secondMomentMm4', 'mm4'],
    ] as const
  ).map(([what, ucum]) => ({ axis: { of: 'section', what }, value: whole[what], ucum }));
}

export const statedDesign = ({ parameters }: Pick<CaseDesign, 'parameters'>): Stated<RangeAxis>[] =>
  parameters.map(({ parameter, value, ucum }) => ({ axis: { of: 'design', parameter }, value, ucum }));
