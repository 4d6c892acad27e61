import { appliedLimits } from '../../assessment/study-limits.js';
import type { Facts } from '../../dossier/facts.js';
import { specimenText } from '../../dossier/tables.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { TableRow } from '../../pdf/column.js';
import type { RecordPage } from '../../pdf/page.js';
import { characteristicAnchor, RESULT_ROWS, resultAnchor, verdictAnchor } from '../../report/anchors.js';
import { verdictText } from '../../report/phrases/codes.js';
import { appliedLimitsText } from '../../report/phrases/limits.js';
import { planText } from '../../report/phrases/plans.js';
import { RESULTS } from '../../report/phrases/record-results.js';
import { TOUCHED_BY } from '../../report/phrases/touched-by.js';
import { measuredOnWord, testDueText } from '../../report/phrases/trade-codes.js';
import {
  decisionRuleText,
  roundingText,
  shortRoundingText,
  shortRuleText,
  valueText,
  verdictNoteText,
} from '../../report/phrases/values.js';
import { touchedBy } from '../../report/touched-by.js';
import { type RecordView, shownUnits } from '../record-view.js';
import { drawResultSources } from './result-sources.js';
import { drawShapes } from './shape.js';

/** Plan against result: what is asked of each characteristic, each value with its verdict, and the way to its evidence. */
export function drawResults(pdf: RecordPage, view: RecordView): void {
  drawAsked(pdf, view);
  const judged = drawValues(pdf, view);
  pdf.heading(2, RESULTS.sources, { anchor: RESULT_ROWS });
  drawResultSources(pdf, view.facts, judged, view);
  if (!drawShapes(pdf, view.facts)) pdf.paragraph(RESULTS.shapeNotRecorded, { small: true });
}

/** Limits, method, rule and plan, one row a characteristic. */
function drawAsked(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const { characteristics } = facts.specification.body;
  pdf.table({
    caption: RESULTS.asked,
    columns: [
      { head: RESULTS.characteristic, width: 2.2 },
      { head: RESULTS.limits, width: 3 },
      { head: RESULTS.methodAndOn, width: 4 },
      { head: RESULTS.ruleRoundingDue, width: 2.8 },
      { head: RESULTS.plan, width: 3.4 },
    ],
    rows: characteristics.map((item) => {
      const verdicts = verdictsOf(view, item);
      return {
        cells: [
          item.title,
          `${appliedLimitsText(item, appliedLimits(facts, item))}${item.target === undefined ? '' : RESULTS.target(item.target)}`,
          RESULTS.methodOn(RESULTS.methodOf(item.method.method, item.method.revision), measuredOnText(item)),
          [shortRuleText(item), shortRoundingText(item), testDueText(item.due)].join('; '),
          [plansText(item, verdicts), ...touchedText(facts, item)].join('; '),
        ],
        anchor: characteristicAnchor(item.characteristic),
      };
    }),
  });
  const notes = characteristics.flatMap((item) =>
    notesOf(verdictsOf(view, item)).map((note) => RESULTS.noteOn(item.title, note)),
  );
  if (notes.length > 0) pdf.paragraph(RESULTS.notes(notes), { small: true });
  const rules = characteristics.flatMap((item) => [decisionRuleText(item), roundingText(item)]);
  pdf.paragraph(RESULTS.rules([...new Set(rules)]), { small: true });
}

/**
 * Each value once, with every implant that it is judged for.
 * @returns rows whose place of judging has its anchor.
 */
function drawValues(pdf: RecordPage, view: RecordView): ReadonlySet<number> {
  const judged = new Set<number>();
  const implants = shownUnits(view).length;
  pdf.table({
    caption: RESULTS.values,
    columns: [
      { head: RESULTS.characteristic, width: 2.9 },
      { head: RESULTS.forImplants, width: 1.4 },
      { head: RESULTS.specimenReplicate, width: 1.8 },
      { head: RESULTS.value, width: 1.95 },
      { head: RESULTS.verdictAndWhy, width: 8.6 },
      { head: RESULTS.row, width: 0.7 },
    ],
    rows: view.facts.specification.body.characteristics.flatMap((item) =>
      judgedValues(verdictsOf(view, item)).map((value) => valueRow(item, value, judged, implants)),
    ),
    empty: RESULTS.noSpecimen,
  });
  return judged;
}

interface JudgedValue {
  readonly value: Verdicts[number]['values'][number];
  readonly units: string[];
  /** With the replicate; several of values that are missing alike. */
  readonly specimens: string[];
}

/** A value of a coupon is judged alike for each implant that it speaks for; what is missing alike stands in one row. */
function judgedValues(verdicts: Verdicts): JudgedValue[] {
  const found = new Map<string, JudgedValue>();
  for (const { unit, values } of verdicts) {
    for (const value of values) {
      const key = JSON.stringify(value);
      const specimens = [RESULTS.replicateOf(specimenText(value), value.replicate)];
      const known = found.get(key) ?? { value, units: [], specimens };
      found.set(key, known);
      known.units.push(unit);
    }
  }
  const rows = new Map<string, JudgedValue>();
  for (const one of found.values()) {
    const { specimen: _, piece: __, replicate: ___, ...alike } = one.value;
    const key = one.value.row === null ? JSON.stringify([alike, one.units]) : JSON.stringify(one.value);
    const known = rows.get(key);
    if (known) known.specimens.push(...one.specimens);
    else rows.set(key, one);
  }
  return [...rows.values()];
}

type Verdicts = RecordView['assessment']['characteristics'];

function verdictsOf(view: RecordView, { characteristic }: Characteristic): Verdicts {
  const shown = new Set(shownUnits(view).map(({ serial }) => serial));
  return view.assessment.characteristics.filter(
    (verdict) => verdict.characteristic === characteristic && shown.has(verdict.unit),
  );
}

/** Media and tools beside what was measured where they touched. */
function touchedText(facts: Facts, item: Characteristic): string[] {
  const told = touchedBy(facts, item);
  return told.length === 0 ? [] : [TOUCHED_BY.told(told)];
}

/** Roles that say nothing beside the reason of the verdict. */
const UNTOLD: ReadonlySet<JudgedValue['value']['role']> = new Set(['planned', 'reworked']);

function valueRow(
  item: Characteristic,
  { value, units, specimens }: JudgedValue,
  judged: Set<number>,
  implants: number,
): TableRow {
  const { row, role, verdict } = value;
  const isFirst = row !== null && !judged.has(row);
  if (isFirst) judged.add(row);
  return {
    cells: [
      item.title,
      implants > 2 && units.length === implants ? RESULTS.allImplants(implants) : units.join(', '),
      specimens.join(', '),
      row === null
        ? value.value || RESULTS.missing
        : [{ text: value.value, to: resultAnchor(row) }, `${spacedUnit(item.ucum)}`],
      RESULTS.verdictWhy(verdictText(verdict), `${UNTOLD.has(role) ? '' : `${role}: `}${valueText(item, value)}`),
      row === null ? '' : [{ text: String(row), to: resultAnchor(row) }],
    ],
    attention: verdict !== 'conforms',
    ...(isFirst ? { anchor: verdictAnchor(row) } : {}),
  };
}

/** What the plan says of the values together; of several implants each different saying once. */
function plansText(item: Characteristic, verdicts: Verdicts): string {
  const said = new Map<string, string[]>();
  for (const { unit, plan } of verdicts) {
    const says = planText(item, plan);
    said.set(says, [...(said.get(says) ?? []), unit]);
  }
  if (said.size === 0) return RESULTS.noImplant;
  return [...said].map(([says, units]) => (said.size === 1 ? says : `${units.join(', ')}: ${says}`)).join('; ');
}

const notesOf = (verdicts: Verdicts): string[] => [
  ...new Set(verdicts.flatMap((verdict) => verdict.notes.map(verdictNoteText))),
];

function measuredOnText({ measuredOn, zoneClass, replicates }: Characteristic): string {
  return RESULTS.measuredOnOf(measuredOnWord(measuredOn), zoneClass ? RESULTS.zoneClass(zoneClass) : '', replicates);
}
