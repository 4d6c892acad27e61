import { perUnit, spacedUnit, tradeUnit } from '../dossier/unit-text.js';
import type {
  CaseRangesAnswer,
  PartAnswered,
  PointsAnswered,
  RangesAnswer,
  SettingsAnswered,
} from '../lots/ranges/ranges-answer.js';
import { textMetric } from '../pdf/shaping.js';
import { valuesBySetting } from '../report/charts/values-by-setting.js';
import { type FigureView, figureView } from '../report/figure-view.js';
import { designAddress, findAddress, lotAddress } from '../report/page-addresses.js';
import { RANGES_PAGE } from '../report/phrases/ranges-page.js';

/** What the page of ranges shows. */

/** So many rows of a table and so many charts of a class; command and API tell all. */
const MOST_ROWS = 60;
const MOST_CHARTS = 8;

export function rangesView(answer: RangesAnswer, of: CaseRangesAnswer | undefined) {
  return {
    family: answer.family,
    caution: answer.caution,
    of: of === undefined ? undefined : caseView(of),
    settings: answer.settings.map((set, index) => settingsView(set, `s${index}`, of)),
    windows: answer.windows.map((set) => pointsView(set, RANGES_PAGE.windowsOf(set.zoneClass))),
    designs: answer.designs.map((set) => pointsView(set, RANGES_PAGE.designs)),
    exposures: answer.exposures.map(({ says }) => says),
    leftOut: answer.leftOut.map(({ says }) => says),
    back: { href: designAddress(answer.family) },
  };
}

function caseView({ parts, ...of }: CaseRangesAnswer) {
  return {
    ...of,
    href: findAddress(of.case),
    parts: parts.map((part) => ({
      ...part,
      axes: part.axes.map((axis) => ({
        name: axis.name,
        demanded: `${axis.demanded}${spacedUnit(axis.ucum)}`,
        shown: RANGES_PAGE.range(axis),
        side: axis.side,
        isOutside: axis.side !== 'inside',
      })),
      near: part.near.map(({ lots, says }) => ({
        lots: lots.map((lot) => ({ text: lot, href: lotAddress(lot) })),
        says: says.slice(says.indexOf(': ') + 2),
      })),
      isInside: part.outcome === 'shown' || part.outcome === 'inside',
    })),
  };
}

function settingsView(set: SettingsAnswered, id: string, of: CaseRangesAnswer | undefined) {
  const { machine, zoneClass, axes, measured, points } = set;
  const varied = axes.flatMap((axis, index) => (axis.distinct > 1 ? [{ axis, index }] : []));
  return {
    title: RANGES_PAGE.settingsOf(zoneClass, machine),
    constant: axes
      .filter(({ distinct }) => distinct === 1)
      .map(({ name, min, ucum }) => `${name} ${min}${spacedUnit(ucum)}`),
    varied: varied.map(({ axis }) => ({
      name: axis.name,
      shown: RANGES_PAGE.range(axis),
      distinct: axis.distinct,
      validated: axis.validated.map((one) => RANGES_PAGE.validated(one, axis.ucum)).join('; '),
    })),
    heads: [
      ...varied.map(({ axis }) => `${axis.name}${perUnit(axis.ucum)}`),
      ...measured.map((one) => `${one.title}${perUnit(one.ucum)}${RANGES_PAGE.exposed(one.exposed)}`),
    ],
    rows: points.slice(0, MOST_ROWS).map(({ at, recipes, values }) => ({
      recipe: recipes.map(({ recipe, revision }) => RANGES_PAGE.recipe(recipe, revision)).join(', '),
      cells: [
        ...varied.map(({ index }) => at[index]!),
        ...values.map((one) => (one === null ? '' : RANGES_PAGE.values(one))),
      ],
    })),
    rest: points.length > MOST_ROWS ? RANGES_PAGE.rest(MOST_ROWS, points.length) : undefined,
    figures: figuresOf(set, varied, id, demandedOf(of, set)),
  };
}

/** What a case asks of this class, by the name of the setting. */
function demandedOf(of: CaseRangesAnswer | undefined, { machine, zoneClass }: SettingsAnswered): PartAnswered['axes'] {
  if (of === undefined || of.machine !== machine) return [];
  return of.parts.find((part) => part.about === 'settings' && part.zoneClass === zoneClass)?.axes ?? [];
}

function figuresOf(
  { measured, points, zoneClass }: SettingsAnswered,
  varied: readonly { readonly axis: SettingsAnswered['axes'][number]; readonly index: number }[],
  id: string,
  demanded: PartAnswered['axes'],
): FigureView[] {
  return measured
    .flatMap((one, place) =>
      varied.map(({ axis, index }) => {
        const own = points.flatMap(({ at, values }) => {
          const found = values[place];
          return found
            ? [{ setting: Number(at[index]), mean: found.mean, min: found.min, max: found.max, n: found.n }]
            : [];
        });
        const asked = demanded.find(({ name }) => name === axis.name);
        return { one, axis, own, asked, name: `${id}-${place}-${index}` };
      }),
    )
    .filter(({ own }) => new Set(own.map(({ setting }) => setting)).size > 1)
    .slice(0, MOST_CHARTS)
    .map(({ one, axis, own, asked, name }) => {
      const unit = tradeUnit(one.ucum);
      const label = RANGES_PAGE.figure(one.title, axis.name, zoneClass);
      const scene = valuesBySetting(
        {
          settingLabel: `${axis.name}${perUnit(axis.ucum)}`,
          valueLabel: `${one.title}${perUnit(one.ucum)}`,
          points: own,
          ...(asked && { asked: { setting: Number(asked.demanded), label: RANGES_PAGE.asked } }),
        },
        textMetric,
      );
      const alt = RANGES_PAGE.alt(own.map((point) => RANGES_PAGE.point(point, tradeUnit(axis.ucum), unit)));
      return figureView({ scene, alt, caption: label }, label, name);
    });
}

function pointsView({ axes, points }: PointsAnswered, title: string) {
  return {
    title,
    heads: axes.map(({ name, ucum }) => `${name}${perUnit(ucum)}`),
    rows: points.slice(0, MOST_ROWS).map(({ at, lots }) => ({
      cells: at,
      lots: lots.slice(0, MOST_ROWS).map((lot) => ({ text: lot, href: lotAddress(lot) })),
    })),
    rest: points.length > MOST_ROWS ? RANGES_PAGE.rest(MOST_ROWS, points.length) : undefined,
  };
}
