import { Injectable } from '@nestjs/common';
import { supportWindows } from '../../assessment/support-windows.js';
import { AppError } from '../../base/errors.js';
import type { WindowOutcome } from '../../degradation/support-window.js';
import { type RangeAxis, settingsOfClass, statedDesign } from '../../design-history/axes.js';
import type { Coordinates } from '../../design-history/ranges.js';
import type { Stated } from '../../design-history/shown-sets.js';
import type { Beside, PointsOfSet } from '../../design-history/standing-place.js';
import type { Family } from '../../kinds/family.js';
import type { Recipe } from '../../kinds/recipe.js';
import { RANGES, rangeAxisText } from '../../report/phrases/ranges.js';
import { ALWAYS, LAST_ENTRY, NEVER } from '../../store/histories.js';
import { Store } from '../../store/store.js';
import { CurrentAssessments } from '../current-assessments.js';
import { type BuiltCases, builtCases, type WindowAsked, windowsAsked } from './built-cases.js';
import { type FamilyValues, familyValues } from './family-values.js';
import type { CaseRangesAnswer, PartAnswered, RangesAnswer } from './ranges-answer.js';
import { rangesAnswer } from './say-family.js';
import { standInWorker } from './stand-in-worker.js';

const HOURS_PER_WEEK = 168;
/** Some hundred bytes each. */
const MOST_KEPT_LOTS = 5000;
/** So many of the nearest points are told, and of each so many lots. */
const NEAREST = 3;
const LOTS_OF_POINT = 5;

type Outcomes = ReadonlyMap<string, ReadonlySet<WindowOutcome>>;

interface AskedPart {
  readonly about: PartAnswered['about'];
  readonly zone: string | null;
  readonly zoneClass: string;
  readonly title: string;
  readonly sets: readonly PointsOfSet[];
  readonly demanded: readonly Stated<RangeAxis>[];
  /** Lots of a point of a set. */
  readonly lotsOf: (set: number, point: number) => Promise<readonly string[]>;
  readonly window?: WindowAsked;
  /** Why nothing of it can be compared at all. */
  readonly why?: string;
}

/** What was shown so far of a family, and where a case lies beside it. */
@Injectable()
export class ShownRanges {
  /** By the SHA-256 of lot files, those first that were asked for first. */
  private readonly outcomes = new Map<string, Outcomes>();

  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  /** @throws NotFoundError without such a family. */
  async ofFamily(family: string): Promise<RangesAnswer> {
    const { read, clock } = this.store;
    const { body } = await read.entries.currentOrThrow('family', family, 'family');
    return rangesAnswer(family, await familyValues(read, family, clock.now()), await builtCases(read, body));
  }

  /**
   * @param withWindows whether the lots nearest in window and section are asked how they held: that opens their lot files.
   * @throws NotFoundError without such a case; AppError REFUSED while it has no design, or its recipe is not on record.
   */
  async ofCase(code: string, withWindows = true): Promise<CaseRangesAnswer> {
    const { read, clock } = this.store;
    const { body: prescribed } = await read.entries.currentOrThrow('case', code);
    const iteration = prescribed.designIteration;
    const design = (await read.entries.revision('case-design', code, iteration))?.body;
    if (design === undefined) throw new AppError('REFUSED', RANGES.noDesign(code, iteration));
    const { recipe: key, revision } = design.recipe;
    const recipe = (await read.entries.revision('recipe', key, revision))?.body;
    if (recipe === undefined) throw new AppError('REFUSED', RANGES.noRecipe(code, key, revision));
    const { body: family } = await read.entries.currentOrThrow('family', prescribed.family, 'family');
    const window = (await read.entries.current('support-window', code))?.body;
    const values = await familyValues(read, family.family, clock.now());
    // What this case had built itself shows nothing beside it.
    const built = await builtCases(read, family, code);
    const zones = recipe.zones.map(({ zone, layers }) => ({ zone, recipeZone: zone, layers }));
    const windows = windowsAsked({ zones }, recipe, design, window, family);
    const asked = [
      ...this.settingsAsked(family, recipe, values),
      ...windows.map((one) => windowPart(one, built)),
      ...designParts(statedDesign(design), built),
    ];
    const found = await standInWorker(asked.map(({ sets, demanded }) => ({ sets: sets.map(bare), demanded })));
    const parts: PartAnswered[] = [];
    for (const [index, one] of asked.entries()) {
      parts.push(await this.part(one, found[index]!, values, withWindows));
    }
    const inside = parts.filter(({ outcome }) => outcome === 'shown' || outcome === 'inside').length;
    const isWhole = parts.every(({ toShow }) => toShow.length === 0);
    return {
      ...{ case: code, iteration, family: family.family, recipe: key, revision, machine: recipe.machine, parts },
      says: RANGES.says(code, inside, parts.length, isWhole),
      isInside: parts.length > 0 && inside === parts.length && isWhole,
      ...{ scaling: RANGES.scaling, caution: RANGES.caution },
    };
  }

  /** Of each class of the recipe, and of the whole part where something was measured of it. */
  private settingsAsked(family: Family, recipe: Recipe, { settings }: FamilyValues): AskedPart[] {
    const own = settings.filter(({ machine }) => machine === recipe.machine);
    const whole = own.some(({ zoneClass }) => zoneClass === '') ? [''] : [];
    return [...new Set(recipe.zones.map((zone) => zone.class)), ...whole].flatMap((zoneClass): AskedPart[] => {
      const found = settingsOfClass(recipe, zoneClass);
      const sets = own.filter((one) => one.zoneClass === zoneClass);
      const title = RANGES.titles.settings(zoneClass);
      const isOne = 'stated' in found;
      return [
        {
          ...{ about: 'settings', zone: null, zoneClass, title, sets: isOne ? sets : [] },
          ...(isOne ? { demanded: found.stated } : { demanded: [], why: RANGES.toShow.differsWithin(title) }),
          lotsOf: (set, point) => this.lotsOfPoint(family.family, sets[set]!, point),
        },
      ];
    });
  }

  /** The lots that were built last with these settings. */
  private async lotsOfPoint(family: string, set: FamilyValues['settings'][number], point: number): Promise<string[]> {
    const { values } = set.points[point]!;
    const index = values.findIndex((one) => one !== null);
    const want = {
      ...{ family, characteristic: set.measured[index]!.characteristic, seq: LAST_ENTRY },
      ...{ before: ALWAYS, from: NEVER, to: ALWAYS, contexts: values[index]!.contexts },
    };
    const [rows] = await this.store.read.histories.rows([want], LOTS_OF_POINT);
    return [...new Set(rows!.filter(({ n }) => n > 0).map(({ lot }) => lot))].reverse();
  }

  private async part(
    { about, zone, zoneClass, title, sets, lotsOf, window, why }: AskedPart,
    { outcome: compared, set, place, onlyDemanded, onlyShown }: Beside,
    { exposures }: FamilyValues,
    withWindows: boolean,
  ): Promise<PartAnswered> {
    const outcome = why === undefined ? compared : 'not comparable';
    const axes =
      place === undefined
        ? []
        : sets[set!]!.axes.map(({ axis, ucum }, index) => {
            const { min, max, distinct, demanded: value, side } = place.axes[index]!;
            const shown = { name: rangeAxisText(axis), ucum, min, max, distinct };
            return { ...shown, demanded: value, side, says: RANGES.axis(shown, value, side) };
          });
    const near: PartAnswered['near'] = [];
    for (const { point, distance } of place?.near.slice(0, NEAREST) ?? []) {
      const all = await lotsOf(set!, point);
      const lots = all.slice(0, LOTS_OF_POINT);
      const told: string[] = [];
      for (const lot of lots) {
        const asks = window !== undefined && withWindows;
        told.push(asks ? RANGES.lotHeld(lot, await this.held(lot, zoneClass)) : lot);
      }
      const says = RANGES.near(told, all.length - lots.length, RANGES.distance(distance));
      near.push({ lots: [...lots], distance, says });
    }
    const toShow = [
      ...(outcome === 'nothing shown' ? [RANGES.toShow.nothing(title)] : []),
      ...(why === undefined ? [] : [why]),
      ...(outcome === 'not comparable' && why === undefined
        ? [RANGES.toShow.otherAxes(title, onlyDemanded.map(rangeAxisText), onlyShown.map(rangeAxisText))]
        : []),
      ...axes.flatMap((axis) =>
        axis.side === 'inside' ? [] : [RANGES.toShow.axis(about, title, axis, axis.demanded)],
      ),
      ...(outcome === 'in ranges only' ? [RANGES.toShow.together(title)] : []),
      ...(window === undefined ? [] : exposureToShow(window, zoneClass, exposures)),
    ];
    return {
      ...{ about, zone, zoneClass, title, outcome, says: RANGES.lies(outcome, about), axes, near, toShow },
      spans: place === undefined ? null : RANGES.spans({ ...place, axes: axes.length }, about),
      ...{ points: place?.points ?? 0, varied: place?.varied ?? 0, dimension: place?.dimension ?? 0 },
      ...{ isInRanges: place?.isInRanges ?? null, isInHull: place?.isInHull ?? null },
    };
  }

  /** How the zones of a class of a lot held their windows, by its current lot file. */
  private async held(lot: string, zoneClass: string): Promise<string> {
    const current = await this.current.assessmentOf(lot);
    if (current === undefined) return RANGES.notAssessed;
    const outcomes = (await this.windowsOf(lot, current.dossierSha256)).get(zoneClass);
    return outcomes === undefined ? RANGES.notAssessed : RANGES.held([...outcomes].sort());
  }

  /** Outcomes of a lot file by class of zones. It never changes, so it is opened once, and no more is kept of it. */
  private async windowsOf(lot: string, dossierSha256: string): Promise<Outcomes> {
    const known = this.outcomes.get(dossierSha256);
    if (known) return known;
    const assessed = await this.current.of(lot);
    const found = new Map<string, Set<WindowOutcome>>();
    for (const { zoneClass, answer } of assessed === undefined ? [] : supportWindows(assessed.facts)) {
      if (zoneClass === undefined) continue;
      const outcomes = found.get(zoneClass) ?? new Set();
      found.set(zoneClass, outcomes.add('why' in answer ? 'cannot be decided' : answer.outcome));
    }
    // The lot may have been frozen anew meanwhile.
    if (assessed !== undefined) this.outcomes.set(assessed.dossierSha256, found);
    if (this.outcomes.size > MOST_KEPT_LOTS) this.outcomes.delete(this.outcomes.keys().next().value!);
    return found;
  }
}

/** Weeks for which no exposure of the class lay long enough. */
function exposureToShow(
  { zone, window }: WindowAsked,
  zoneClass: string,
  exposures: FamilyValues['exposures'],
): string[] {
  const weeks = window.holdWeeks;
  const own = exposures.filter((one) => one.zoneClass === zoneClass);
  const longest = own.toSorted((a, b) => b.hours - a.hours)[0];
  if (longest !== undefined && longest.hours / HOURS_PER_WEEK >= weeks) return [];
  const { medium, mediumRevision: revision, hours } = longest ?? { medium: '', mediumRevision: 0, hours: 0 };
  const says = RANGES.longest(Number((hours / HOURS_PER_WEEK).toFixed(1)), medium, revision);
  return [RANGES.toShow.exposure(zone, weeks, longest === undefined ? undefined : says)];
}

const lotsIn =
  (sets: readonly { readonly points: readonly { readonly sources: readonly string[] }[] }[]) =>
  (set: number, point: number) =>
    Promise.resolve(sets[set]!.points[point]!.sources);

function windowPart(one: WindowAsked, { windows }: BuiltCases): AskedPart {
  const zoneClass = one.zoneClass ?? '';
  const sets = windows.filter((set) => set.zoneClass === zoneClass);
  return {
    ...{ about: 'window', zone: one.zone, zoneClass, title: RANGES.titles.window(one.zone, zoneClass), sets },
    ...{ demanded: one.stated, lotsOf: lotsIn(sets), window: one },
  };
}

function designParts(demanded: readonly Stated<RangeAxis>[], { designs: sets }: BuiltCases): AskedPart[] {
  if (demanded.length === 0) return [];
  return [
    { about: 'design', zone: null, zoneClass: '', title: RANGES.titles.design, sets, demanded, lotsOf: lotsIn(sets) },
  ];
}

/** What a worker thread needs of a set. */
const bare = ({ axes, points }: PointsOfSet): PointsOfSet => ({
  axes: axes.map(({ axis, ucum }) => ({ axis, ucum })),
  points: points.map(({ at }): { at: Coordinates } => ({ at })),
});
