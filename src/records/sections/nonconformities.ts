import { dispositionOf, type NonconformityOfLot, nonconformitiesOf } from '../../assessment/nonconformities.js';
import { reworksOf, wentThrough } from '../../assessment/reworks.js';
import { namesText } from '../../dossier/statement.js';
import { specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { findingAnchor, short } from '../../report/anchors.js';
import { findingLines, mostSevere } from '../../report/finding-lines.js';
import { levelText } from '../../report/phrases/codes.js';
import { DISPOSITIONS } from '../../report/phrases/dispositions.js';
import { sortText } from '../../report/phrases/nonconformity-list.js';
import { NONCONFORMITIES } from '../../report/phrases/record-nonconformities.js';
import { stepText } from '../../report/phrases/trade-codes.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { sayNone, tableOr } from './none-of.js';
import { personText } from './post-process.js';

/** What did not go as planned and what was done about it. */
export function drawNonconformities(pdf: RecordPage, view: RecordView): void {
  const isTold = tellsOf(view);
  const none: string[] = [];
  const { lines, others } = mostSevere(findingLines(view.facts).filter((line) => line.level !== 'alert'));
  tableOr(pdf, none, {
    caption: NONCONFORMITIES.findings,
    columns: [
      { head: NONCONFORMITIES.finding, width: 1.8 },
      { head: NONCONFORMITIES.level, width: 1.1 },
      { head: NONCONFORMITIES.covers, width: 3 },
      { head: NONCONFORMITIES.decision, width: 7 },
    ],
    rows: lines.map((line) => [
      [{ text: short(line.id), style: 'mono' as const, to: findingAnchor(line.id) }],
      line.members > 1 ? NONCONFORMITIES.alike(levelText(line.level), line.members) : levelText(line.level),
      [...line.implants, ...line.coupons].filter(isTold).join(', ') || NONCONFORMITIES.noPart,
      line.decided,
    ]),
  });
  if (others > 0) pdf.paragraph(NONCONFORMITIES.more(others), { small: true });
  drawTests(pdf, view, none);
  drawReports(pdf, view, none);
  drawReworks(pdf, view, none);
  drawActions(pdf, view);
  sayNone(pdf, none);
}

/** What was opened as a nonconformity, and how far it went. */
function drawReports(pdf: RecordPage, view: RecordView, none: string[]): void {
  const isTold = tellsOf(view);
  const own = nonconformitiesOf(view.facts).filter(({ units }) => units.some(isTold));
  tableOr(pdf, none, {
    caption: NONCONFORMITIES.reports,
    columns: [
      { head: NONCONFORMITIES.report, width: 1.8 },
      { head: NONCONFORMITIES.says, width: 4 },
      { head: NONCONFORMITIES.cause, width: 3 },
      { head: NONCONFORMITIES.becomes, width: 4 },
      { head: NONCONFORMITIES.stands, width: 2.4 },
    ],
    rows: own.map(({ document: { key, body }, units, ...how }) => [
      key,
      body.says,
      body.evaluation
        ? NONCONFORMITIES.causeOf(body.evaluation.cause, body.evaluation.riskFile)
        : NONCONFORMITIES.notEvaluated,
      units
        .filter(isTold)
        .map((unit) => {
          const found = dispositionOf(body, unit);
          return found
            ? NONCONFORMITIES.becomesOf(unit, DISPOSITIONS[found.as], found.clause)
            : NONCONFORMITIES.open(unit);
        })
        .join('; '),
      standsText(how),
    ]),
  });
}

const standsText = ({ decided, closed }: Pick<NonconformityOfLot, 'decided' | 'closed'>): string =>
  closed
    ? NONCONFORMITIES.closedBy(closed.person.code, timeText(closed.at))
    : NONCONFORMITIES.undecided[decided?.outcome ?? 'none'];

/** As it stood when the record was issued: how often the same happened, in which lots, and what is done against it. */
function drawActions(pdf: RecordPage, { enclosure: { nonconformities } }: RecordView): void {
  const { alike = [], actions = [] } = nonconformities ?? {};
  if (alike.length > 0) {
    pdf.paragraph(
      NONCONFORMITIES.alikeOf(
        alike.map(({ sort, nonconformities: all, lots }) =>
          NONCONFORMITIES.ofSort(sortText(sort), namesText(all), all.length, namesText(lots)),
        ),
      ),
      { small: true },
    );
  }
  if (actions.length === 0) return;
  pdf.table({
    caption: NONCONFORMITIES.actions,
    columns: [
      { head: NONCONFORMITIES.action, width: 2.4 },
      { head: NONCONFORMITIES.cause, width: 3.6 },
      { head: NONCONFORMITIES.steps, width: 5 },
      { head: NONCONFORMITIES.effect, width: 4.4 },
    ],
    rows: actions.map(({ action, triggers, cause, steps, dueOn, effect, closed }) => [
      NONCONFORMITIES.actionOf(action, triggers),
      cause,
      steps.map((step) => NONCONFORMITIES.stepOf(step.what, step.dueOn, step.doneOn)).join('; '),
      NONCONFORMITIES.effectOf(dueOn, effect, closed && { ...closed, at: timeText(closed.at) }),
    ]),
  });
}

/** What was done again, by which instruction, and what stopped counting by it. */
function drawReworks(pdf: RecordPage, view: RecordView, none: string[]): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  const { implants, coupons } = facts.lot.body;
  const parts = [...implants.map(({ serial }) => serial), ...coupons.map(({ coupon }) => coupon)].filter(isTold);
  tableOr(pdf, none, {
    caption: NONCONFORMITIES.reworks,
    columns: [
      { head: NONCONFORMITIES.parts, width: 2.4 },
      { head: NONCONFORMITIES.step, width: 1.6 },
      { head: NONCONFORMITIES.at, width: 2.2 },
      { head: NONCONFORMITIES.by, width: 2.2 },
      { head: NONCONFORMITIES.instruction, width: 3.2 },
      { head: NONCONFORMITIES.disturbs, width: 3.6 },
    ],
    rows: reworksOf(facts).flatMap(({ step, by, instruction }) => {
      const own = parts.filter((part) => wentThrough(step, part));
      if (own.length === 0) return [];
      const [report, disturbs] = [instruction?.nonconformity ?? '', instruction?.disturbs ?? []];
      return [
        [
          own.join(', '),
          stepText(step.step),
          timeText(step.at),
          personText(facts, step.by),
          NONCONFORMITIES.byInstruction(by, report, instruction?.timesAtMost ?? 0),
          disturbs.join(', ') || NONCONFORMITIES.nothing,
        ],
      ];
    }),
  });
}

/** Tests that failed as tests, and specimens that took the place of others. */
function drawTests(pdf: RecordPage, view: RecordView, none: string[]): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  const { invalidTests = [], replacements = [] } = facts.lot.body;
  tableOr(pdf, none, {
    caption: NONCONFORMITIES.invalidTests,
    columns: [
      { head: NONCONFORMITIES.value, width: 3 },
      { head: NONCONFORMITIES.cause, width: 5 },
      { head: NONCONFORMITIES.seenBy, width: 2.4 },
      { head: NONCONFORMITIES.decidedBy, width: 2.4 },
      { head: NONCONFORMITIES.at, width: 2.2 },
    ],
    rows: invalidTests
      .filter(({ result }) => isTold(result.specimen))
      .map(({ result, cause, seenBy, decidedBy, at }) => [
        `${specimenText(result)}, ${result.characteristic} (${result.replicate})`,
        cause,
        personText(facts, seenBy),
        personText(facts, decidedBy),
        timeText(at),
      ]),
  });
  tableOr(pdf, none, {
    caption: NONCONFORMITIES.replacements,
    columns: [
      { head: NONCONFORMITIES.characteristic, width: 2.4 },
      { head: NONCONFORMITIES.replaced, width: 2.4 },
      { head: NONCONFORMITIES.by, width: 2.4 },
      { head: NONCONFORMITIES.reason, width: 6 },
    ],
    rows: replacements
      .filter(({ replaces }) => isTold(replaces))
      .map(({ characteristic, replaces, by, reason }) => [characteristic, replaces, by, reason]),
  });
}
