import { Turns } from '../../base/turns.js';
import { axisName, type RangeAxis, statedDesign, statedWindow, type WindowOfZone } from '../../design-history/axes.js';
import { type Done, type ShownSet, type Stated, shownSets } from '../../design-history/shown-sets.js';
import { firstClosedAt } from '../../kinds/build-chain.js';
import type { CaseDesign } from '../../kinds/cases/case-design.js';
import type { SupportWindow } from '../../kinds/cases/support-window.js';
import type { Family } from '../../kinds/family.js';
import type { Lot } from '../../kinds/lot.js';
import type { Recipe } from '../../kinds/recipe.js';
import { classOfZone } from '../../kinds/zone-class.js';
import { bodyOf } from '../../store/bodies.js';
import type { Reads } from '../../store/repositories.js';
import { recipeKey, recipesNamed } from './family-values.js';

/** For which windows, with which sections, and by which designs lots of a family were built. */
export interface BuiltCases {
  readonly windows: readonly (ShownSet<RangeAxis, string> & { readonly zoneClass: string })[];
  readonly designs: readonly ShownSet<RangeAxis, string>[];
}

/** A zone for which a window is stated, by case or family. */
export interface WindowAsked {
  readonly zone: string;
  readonly zoneClass: string | undefined;
  readonly window: WindowOfZone;
  readonly stated: readonly Stated<RangeAxis>[];
}

type Part = Pick<Lot['implants'][number], 'zones'>;

/** What a case states of each of its zones; of the family the same for every zone that is built. */
export function windowsAsked(
  part: Part,
  recipe: Recipe | undefined,
  design: CaseDesign | undefined,
  stated: SupportWindow | undefined,
  { support }: Pick<Family, 'support'>,
): WindowAsked[] {
  const sections = new Map(design?.zones.map(({ zone, section }) => [zone, section]));
  const whole = support && ({ shape: support.shape, sizeMm: support.sizeMm } as const);
  const one = (zone: string, window: WindowOfZone): WindowAsked => ({
    ...{ zone, zoneClass: classOfZone(part, recipe, zone), window },
    stated: statedWindow(window, sections.get(zone) ?? whole),
  });
  if (stated !== undefined) return stated.zones.map(({ zone, ...window }) => one(zone, window));
  if (support === undefined) return [];
  const { weeks: holdWeeks, strengthLeft } = support;
  return part.zones.map(({ zone }) => one(zone, { holdWeeks, strengthLeft }));
}

/** So long documents are read in one stretch; then others who ask of the service are heard. */
const LONGEST_MS = 15;

/**
 * Lots of the family of which something was built, by what their cases asked before that. Read in turns: a family may have
 * many lots.
 * @param but a case whose own implants do not count.
 */
export async function builtCases(read: Reads, family: Family, but?: string): Promise<BuiltCases> {
  const turns = new Turns(LONGEST_MS);
  const lots = await lotsBuilt(read, family.family, turns);
  const implants = lots.flatMap((lot) =>
    lot.implants
      .filter((implant) => implant.case !== but)
      .map((implant) => ({ lot: lot.lot, builtAt: firstClosedAt(lot), implant })),
  );
  const codes = [...new Set(implants.map(({ implant }) => implant.case))].sort();
  const designs = new Map<string, CaseDesign>();
  const windows = new Map<string, { readonly recordedAt: string; readonly window: SupportWindow }[]>();
  const named = codes.flatMap((code) => [['case-design', code] as const, ['support-window', code] as const]);
  for (const { kind, key, revision, recordedAt, digest, text } of await read.entries.revisionsOf(named)) {
    await turns.next();
    if (kind === 'support-window') {
      const own = windows.get(key) ?? [];
      windows.set(key, own);
      own.push({ recordedAt, window: bodyOf('support-window', digest, text) });
    } else designs.set(recipeKey(key, revision), bodyOf('case-design', digest, text));
  }
  const recipes = await recipesNamed(
    read,
    implants.map(({ implant }) => implant.recipe.recipe),
  );
  const byClass = new Map<string, Done<RangeAxis, string>[]>();
  const built: Done<RangeAxis, string>[] = [];
  for (const { lot, builtAt, implant } of implants) {
    await turns.next();
    const design = designs.get(recipeKey(implant.case, implant.designIteration));
    const recipe = recipes.get(recipeKey(implant.recipe.recipe, implant.recipe.revision));
    if (design !== undefined) built.push({ stated: statedDesign(design), source: lot });
    const window = windowWhenBuilt(windows.get(implant.case) ?? [], builtAt);
    for (const { zoneClass, stated } of windowsAsked(implant, recipe, design, window, family)) {
      if (zoneClass === undefined) continue;
      const own = byClass.get(zoneClass);
      if (own === undefined) byClass.set(zoneClass, [{ stated, source: lot }]);
      else own.push({ stated, source: lot });
    }
  }
  return {
    windows: [...byClass]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .flatMap(([zoneClass, done]) => shownSets(done, axisName).map((set) => ({ zoneClass, ...lotsOnce(set) }))),
    designs: shownSets(built, axisName).map(lotsOnce),
  };
}

/** The revision that was on record when the first chamber closed; what came later was asked of no lot that was built before. */
const windowWhenBuilt = (
  revisions: readonly { readonly recordedAt: string; readonly window: SupportWindow }[],
  builtAt: string | undefined,
): SupportWindow | undefined =>
  revisions.findLast(({ recordedAt }) => builtAt === undefined || Date.parse(recordedAt) <= Date.parse(builtAt))
    ?.window;

const lotsOnce = (set: ShownSet<RangeAxis, string>): ShownSet<RangeAxis, string> => ({
  axes: set.axes,
  points: set.points.map(({ at, sources }) => ({ at, sources: [...new Set(sources)].sort() })),
});

/** As they stand now. */
async function lotsBuilt(read: Reads, family: string, turns: Turns): Promise<Lot[]> {
  const revisions = await read.entries.revisionsTiedTo(['lot'], { kind: 'family', key: family }, 'of family');
  const latest = new Map(revisions.map((one) => [one.key, one]));
  const built: Lot[] = [];
  for (const { digest, text } of latest.values()) {
    await turns.next();
    const lot = bodyOf('lot', digest, text);
    if (lot.family === family && lot.builds.some(({ state }) => state !== 'planned')) built.push(lot);
  }
  return built;
}
