import type { CharacteristicVerdict } from '../assessment/assessment.js';
import { appliedLimits } from '../assessment/study-limits.js';
import type { Facts } from '../dossier/facts.js';
import { specimenText } from '../dossier/tables.js';
import { timeText } from '../dossier/time-text.js';
import type { Characteristic } from '../kinds/specification.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { characteristicAnchor, resultAnchor } from '../report/anchors.js';
import { exposureTable } from '../report/exposure-rows.js';
import { figureView } from '../report/figure-view.js';
import { lotFamilyAddress, sheetsAddress } from '../report/page-addresses.js';
import { ABSENT } from '../report/phrases/absent.js';
import { lateFactText } from '../report/phrases/late-facts.js';
import { appliedLimitsText } from '../report/phrases/limits.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { planRuleText, planText } from '../report/phrases/plans.js';
import { EXPOSURES, WINDOWS } from '../report/phrases/record-degradation.js';
import { RESULTS } from '../report/phrases/record-results.js';
import { SHAPE } from '../report/phrases/record-shape.js';
import { STOCK_CHANGE } from '../report/phrases/stock-parts.js';
import { TOUCHED_BY } from '../report/phrases/touched-by.js';
import { measuredOnWord, testDueText } from '../report/phrases/trade-codes.js';
import { decisionRuleText, roundingText, valueText, verdictNoteText } from '../report/phrases/values.js';
import { correctionsOf, lateResultsOf, peopleText } from '../report/result-rows.js';
import { changeTables, shapeTables } from '../report/shape-rows.js';
import { windowTables } from '../report/support-window-rows.js';
import { touchedBy } from '../report/touched-by.js';

/** Every value once, under its characteristic, with what was asked, what follows, and where it comes from. */
export function lotTestsView(assessed: AssessedLot) {
  const { facts, assessment } = assessed;
  const { characteristics, pooling } = facts.specification.body;
  const judged = new Set(assessment.characteristics.flatMap(({ values }) => values.map(({ row }) => row)));
  const rows = resultRows(facts);
  return {
    family: lotFamilyAddress(facts.lot.body.lot),
    sheets: sheetsAddress(facts.lot.body.lot),
    pooling: pooling.rationale,
    degradation: degradationOf(facts),
    shapes: shapesOf(facts),
    characteristics: characteristics.map((item) => characteristicView(assessed, item, rows)),
    notJudged: rows.filter(({ number, status }) => !judged.has(number) && status === 'current'),
    corrections: correctionsOf(facts).map(({ number, row, next }) => ({
      ...rows[number - 1]!,
      row,
      next,
      recordedAt: timeText(next.recordedAt),
    })),
    late: lateResultsOf(facts).map(({ number, row }) => ({
      number,
      anchor: resultAnchor(number),
      row,
      measuredAt: timeText(row.measuredAt),
      recordedAt: timeText(row.recordedAt),
    })),
    lateFacts: facts.lateFacts.map((fact) => ({
      says: lateFactText(fact),
      happenedAt: timeText(fact.happenedAt),
      recordedAt: timeText(fact.recordedAt),
      by: fact.by,
    })),
  };
}

/** How the outcome of a window looks: as the verdict that it would be. */
const MARKS = { inside: 'conforms', outside: 'does-not-conform', 'cannot be decided': 'cannot-be-decided' } as const;

/** Exposures and support windows, as the record has them. */
function degradationOf(facts: Facts) {
  if (facts.exposures.size === 0) return null;
  const tables = windowTables(facts);
  return {
    words: WINDOWS,
    exposureWords: EXPOSURES,
    exposures: exposureTable(facts),
    windows: (tables?.windows ?? []).map((row) => ({ ...row, mark: MARKS[row.outcome] })),
    metals: tables?.metals ?? [],
    zones: (tables?.zones ?? []).map(({ figure, ...zones }, index) => ({
      ...zones,
      figure: figureView(figure, WINDOWS.title, `zones-${index + 1}`),
    })),
    note: WINDOWS.note(facts.specification.body.supportWindow === 'decides', facts.simulation?.draws),
    figures: (tables?.figures ?? []).map((figure, index) => figureView(figure, WINDOWS.title, `window-${index + 1}`)),
  };
}

/** Scans of finished implants, as the record has them. */
function shapesOf(facts: Facts) {
  const tables = shapeTables(facts).map(({ figure, ...table }, index) => ({
    ...table,
    figure: figure ? figureView(figure, SHAPE.title, `shape-${index + 1}`) : null,
  }));
  const changes = changeTables(facts);
  if (tables.length + changes.length === 0) return null;
  return { words: SHAPE, tables, changeWords: STOCK_CHANGE, changes };
}

type ResultRowView = ReturnType<typeof resultRows>[number];

/** Result rows as recorded, each with the way to the file it came from. */
function resultRows(facts: Facts) {
  return facts.results.map((row, index) => ({
    ...row,
    number: index + 1,
    anchor: resultAnchor(index + 1),
    specimenShown: specimenText(row),
    measured: timeText(row.measuredAt),
    people: peopleText(facts, row),
    instrumentTitle: facts.instruments.get(row.instrument)?.body.title ?? '',
  }));
}

function characteristicView({ facts, assessment }: AssessedLot, item: Characteristic, rows: readonly ResultRowView[]) {
  const verdicts = assessment.characteristics.filter(({ characteristic }) => characteristic === item.characteristic);
  const touched = touchedBy(facts, item);
  return {
    item,
    anchor: characteristicAnchor(item.characteristic),
    family: lotFamilyAddress(facts.lot.body.lot, item.characteristic),
    limits:
      appliedLimitsText(item, appliedLimits(facts, item)) +
      (item.target === undefined ? '' : RESULTS.target(item.target)),
    decision: decisionRuleText(item),
    rounding: roundingText(item),
    due: testDueText(item.due),
    on: measuredOnWord(item.measuredOn),
    touched: touched.length === 0 ? '' : TOUCHED_BY.told(touched),
    plans: plansView(verdicts, item),
    ...sharedIn(valuesOf(verdicts, item, rows)),
  };
}

/** What all values of a characteristic have in common is told once, above them. */
function sharedIn(values: ReturnType<typeof valuesOf>) {
  const sources = values.map(({ source }) => source);
  const common = (of: (source: ResultRowView | null) => string | undefined): string | null => {
    const [first, ...others] = new Set(sources.map(of));
    return others.length === 0 ? (first ?? null) : null;
  };
  const said = new Set(values.map(({ verdict, why }) => `${verdict}\n${why}`));
  return {
    values,
    shared: {
      why: said.size === 1 ? values[0]!.why : null,
      measured: common((source) => source?.measured),
      people: common((source) => source?.people),
      instrument: common((source) => source?.instrument),
      evidence: common((source) => source?.evidence),
      file: sources[0]?.file ?? '',
    },
  };
}

/** A value of a coupon is judged for each implant that it speaks for, and told once where the same is said of it. */
function valuesOf(verdicts: readonly CharacteristicVerdict[], item: Characteristic, rows: readonly ResultRowView[]) {
  const found = new Map<string, { units: string[]; view: ReturnType<typeof valueView> }>();
  const shown = new Set<number>();
  for (const { unit, values } of verdicts) {
    for (const value of values) {
      const view = valueView(item, value, rows);
      const key = [value.row, value.specimen, value.piece, value.replicate, view.verdict, view.why].join('\n');
      const known = found.get(key);
      if (known) known.units.push(unit);
      else found.set(key, { units: [unit], view });
    }
  }
  return [...found.values()].map(({ units, view }) => {
    const isFirst = view.row !== null && !shown.has(view.row);
    if (view.row !== null) shown.add(view.row);
    return { ...view, units, id: isFirst ? resultAnchor(view.row!) : null };
  });
}

function valueView(
  item: Characteristic,
  value: CharacteristicVerdict['values'][number],
  rows: readonly ResultRowView[],
) {
  return {
    ...value,
    why: valueText(item, value),
    shown: value.value || ABSENT.missing,
    specimenShown: specimenText(value),
    source: value.row === null ? null : rows[value.row - 1]!,
  };
}

/** What the plan says, once for the implants of which it says the same. */
function plansView(verdicts: readonly CharacteristicVerdict[], item: Characteristic) {
  const found = new Map<string, { rule: string; says: string; verdict: string; units: string[]; notes: string[] }>();
  for (const verdict of verdicts) {
    const { plan, openUntil, unit } = verdict;
    const rule = planRuleText(item.plan);
    const notes = verdict.notes.map(verdictNoteText);
    const told = planText(item, plan);
    const says = openUntil === null ? told : LOT_PAGE.openUntil(told, timeText(openUntil));
    const known = found.get(`${plan.verdict} ${says}`);
    if (known) known.units.push(unit);
    else found.set(`${plan.verdict} ${says}`, { rule, says, verdict: plan.verdict, units: [unit], notes });
  }
  return [...found.values()];
}
