import { type Output, table } from '../../cli/output.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import { RANGES } from '../../report/phrases/ranges.js';
import { RANGES_PAGE } from '../../report/phrases/ranges-page.js';
import type { CaseRangesAnswer, PointsAnswered, RangesAnswer } from './ranges-answer.js';

/** Where a case lies: part by part, what lies outside, and what would have to be shown. */
export function sayCaseRanges(answer: CaseRangesAnswer, out: Output): void {
  out.line(answer.says);
  for (const { title, says, spans, axes, near, toShow } of answer.parts) {
    out.line('');
    out.line(`${title}: ${says}.`);
    if (spans !== null) out.line(`  ${spans}`);
    for (const axis of axes) if (axis.side !== 'inside') out.line(`  ${axis.name}: ${axis.says}`);
    for (const one of near) out.line(`  ${RANGES.nearest} ${one.says}`);
    for (const one of toShow) out.line(`  ${RANGES.show} ${one}`);
  }
  out.line('');
  for (const line of [answer.scaling, answer.caution]) out.line(line);
}

export function sayRanges(answer: RangesAnswer, out: Output): void {
  out.line(RANGES.title(answer.family));
  for (const { zoneClass, machine, axes, measured, points } of answer.settings) {
    out.line('');
    out.line(RANGES_PAGE.settingsOf(zoneClass, machine));
    for (const axis of axes) {
      const validated = axis.validated.map((one) => `; ${RANGES_PAGE.validated(one, axis.ucum)}`).join('');
      out.line(`  ${axis.name}: ${RANGES.range(axis)}${validated}`);
    }
    const varied = axes.flatMap((axis, index) => (axis.distinct > 1 ? [{ axis, index }] : []));
    const heads = [
      RANGES.recipe,
      ...varied.map(({ axis }) => `${axis.name}${spacedUnit(axis.ucum)}`),
      ...measured.map((one) => `${one.title}${spacedUnit(one.ucum)}${RANGES_PAGE.exposed(one.exposed)}`),
    ];
    const rows = points.map(({ at, recipes, values }) => [
      recipes.map(({ recipe, revision }) => RANGES_PAGE.recipe(recipe, revision)).join(', '),
      ...varied.map(({ index }) => at[index]!),
      ...values.map((one) => (one === null ? '-' : RANGES_PAGE.values(one))),
    ]);
    for (const line of table([heads, ...rows])) out.line(`  ${line}`);
  }
  for (const set of answer.windows) sayPoints(RANGES_PAGE.windowsOf(set.zoneClass), set, out);
  for (const set of answer.designs) sayPoints(RANGES_PAGE.designs, set, out);
  for (const { says } of [...answer.exposures, ...answer.leftOut]) out.line(`  ${says}`);
  out.line('');
  out.line(answer.caution);
}

function sayPoints(title: string, { axes, points }: PointsAnswered, out: Output): void {
  out.line('');
  out.line(title);
  for (const axis of axes) out.line(`  ${axis.name}: ${RANGES.range(axis)}, ${RANGES.combinations(points.length)}`);
}
