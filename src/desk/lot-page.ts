import type { CharacteristicVerdict } from '../assessment/assessment.js';
import { countsOf } from '../assessment/counts.js';
import { reuseCycles } from '../assessment/materials.js';
import { appliedLimits } from '../assessment/study-limits.js';
import type { Facts } from '../dossier/facts.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { specimenText } from '../dossier/tables.js';
import { timeText } from '../dossier/time-text.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { type LotLine, recordGoes } from '../lots/lot-overview.js';
import { findingAnchor, resultAnchor } from '../report/anchors.js';
import { claimWords } from '../report/assessment-words.js';
import { capabilityView } from '../report/capability-view.js';
import { certificateLines, checkersOf } from '../report/certificate-lines.js';
import { figureView } from '../report/figure-view.js';
import { findingLines, mostSevere } from '../report/finding-lines.js';
import { genealogyFigure } from '../report/genealogy-figure.js';
import { channelFigure, plottedChannels } from '../report/log-figures.js';
import { summaryOf } from '../report/lot-summary.js';
import { nothingAgainst } from '../report/nothing-against.js';
import { ABSENT } from '../report/phrases/absent.js';
import { countInWords } from '../report/phrases/counts.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { GENEALOGY } from '../report/phrases/figures/genealogy.js';
import { lateFactText } from '../report/phrases/late-facts.js';
import { appliedLimitsText } from '../report/phrases/limits.js';
import { LOG_PAGE } from '../report/phrases/log-page.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { planRuleText, planText } from '../report/phrases/plans.js';
import { RESULTS } from '../report/phrases/record-results.js';
import { measuredOnWord, sideText, testDueText } from '../report/phrases/trade-codes.js';
import { decisionRuleText, roundingText, valueText, verdictNoteText } from '../report/phrases/values.js';
import { verdictCounts } from '../report/phrases/verdicts.js';
import { correctionsOf, lateResultsOf, peopleText } from '../report/result-rows.js';
import { summaryLines } from '../report/summary-lines.js';
import { checksView } from './checks-view.js';
import { zonesView } from './zones-view.js';

interface RecordRow {
  readonly number: string;
  readonly revision: number;
  readonly recordedAt: string;
  readonly fileSha256: string;
  readonly enclosure: string;
  readonly dossierDigest: string;
}

/** Everything that the page of a lot shows, from the frozen facts and their assessment. */
export function lotPage(assessed: AssessedLot, line: LotLine, records: readonly RecordRow[]) {
  const { facts, assessment } = assessed;
  return {
    lot: facts.lot.body.lot,
    dossierSha256: assessed.dossierSha256,
    assessmentSha256: assessed.assessmentSha256,
    asOf: timeText(facts.dossier.asOf.at),
    earlierVersion: assessed.ofEarlierVersion ? EARLIER_VERSION : null,
    headline: verdictCounts(assessment.units.map((unit) => unit.verdict)),
    neededBy: line.neededBy,
    changedVerdicts: line.changedVerdicts,
    family: facts.family,
    specification: facts.specification,
    recipes: [...facts.recipes.keys()],
    blockers: line.blockers,
    unblocked: line.closed
      ? LOT_PAGE.closed
      : [...new Set(assessment.units.map((unit) => nothingAgainst(assessment, unit)))].join(' '),
    units: unitsView(assessed),
    moments: checksView(assessed),
    zones: zonesView(assessed),
    counts: countsView(facts, line.units),
    claims: assessment.checks.flatMap((check) =>
      check.claims.map((claim) => ({ ...claim, says: claimWords(claim), at: timeText(claim.at) })),
    ),
    exceptions: exceptionsView(assessed),
    ...findingsView(facts),
    builds: buildsView(facts),
    materials: materialsView(facts),
    characteristics: characteristicsView(assessed),
    results: resultsView(facts),
    corrections: correctionsOf(facts).map(({ number, row, next }) => ({
      number,
      anchor: resultAnchor(number),
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
    capabilities: assessment.capability.map((capability) =>
      capabilityView(characteristicNamed(facts, capability.characteristic), capability),
    ),
    pooling: facts.specification.body.pooling.rationale,
    records: [...records].reverse().map(({ enclosure, ...record }) => ({
      ...record,
      ...recordGoes(enclosure),
      recordedAt: timeText(record.recordedAt),
    })),
  };
}

/** Where the page tells what the record tells at an anchor that begins so. */
const ON_THE_PAGE: readonly (readonly [anchor: string, id: string])[] = [
  ['check ', 'checks'],
  ['verdict ', 'values'],
  ['characteristic ', 'values'],
  ['log findings', 'log-findings'],
  ['corrections', 'corrections'],
  ['result-rows', 'results'],
  ['family-of ', 'family'],
];

/** The lines of page 1 of the record, each with the part of this page that tells more. */
function exceptionsView({ facts, assessment }: AssessedLot) {
  return summaryLines(summaryOf(facts, assessment), facts).map(({ says, anchors }) => ({
    says,
    to: ON_THE_PAGE.find(([anchor]) => anchors[0]!.startsWith(anchor))?.[1] ?? 'units',
  }));
}

function countsView(facts: Facts, units: LotLine['units']) {
  const { implants, labels } = countsOf(facts, decidedOf(units));
  return { implants: countInWords(implants), labels: labels && countInWords(labels) };
}

function decidedOf(units: LotLine['units']) {
  const serials = (isMeant: (unit: LotLine['units'][number]) => boolean) =>
    units.filter(isMeant).map(({ serial }) => serial);
  const released = (step: ReleaseStep) => serials(({ releasedFor }) => releasedFor.at(-1) === step);
  return {
    released: { sterilisation: released('sterilisation'), distribution: released('distribution') },
    rejected: serials(({ decision }) => decision === 'rejected'),
  };
}

const characteristicNamed = (facts: Facts, name: string) =>
  facts.specification.body.characteristics.find((item) => item.characteristic === name)!;

/** The most severe findings, and how many are left to the table of all. */
function findingsView(facts: Facts) {
  const { lines, others } = mostSevere(findingLines(facts));
  return {
    findings: lines.map((finding) => ({ ...finding, anchor: findingAnchor(finding.id) })),
    otherFindings: others,
  };
}

/** Rows of implants, columns of characteristics. */
function unitsView({ facts, assessment }: AssessedLot) {
  const columns = facts.specification.body.characteristics.map((item) => ({
    characteristic: item.characteristic,
    title: item.title,
    unit: tradeUnit(item.ucum),
    limits: appliedLimitsText(item, appliedLimits(facts, item)),
    on: measuredOnWord(item.measuredOn),
  }));
  const rows = assessment.units.map((unit) => {
    const implant = facts.lot.body.implants.find((item) => item.serial === unit.serial)!;
    const found = facts.cases.get(implant.case)?.body;
    return {
      ...unit,
      case: implant.case,
      site: found ? LOT_PAGE.place(found.anatomicalSite, sideText(found.side)) : ABSENT.withheld,
      neededBy: found?.neededBy ?? ABSENT.withheld,
      build: implant.build,
      cells: facts.specification.body.characteristics.map((item) =>
        cellView(
          item,
          assessment.characteristics.find(
            ({ characteristic, unit: serial }) => characteristic === item.characteristic && serial === unit.serial,
          ),
        ),
      ),
    };
  });
  return { columns, rows };
}

function cellView(item: Characteristic, verdict: CharacteristicVerdict | undefined) {
  if (!verdict) return undefined;
  return { verdict: verdict.verdict, values: verdict.values.map((value) => valueView(item, value)) };
}

function valueView(item: Characteristic, value: CharacteristicVerdict['values'][number]) {
  return {
    ...value,
    why: valueText(item, value),
    shown: value.value || ABSENT.missing,
    specimenShown: specimenText(value),
    anchor: value.row === null ? null : resultAnchor(value.row),
  };
}

/** Each planned value with its limit, its verdict and the reason. */
function characteristicsView(assessed: AssessedLot) {
  const { facts, assessment } = assessed;
  return facts.specification.body.characteristics.map((item) => ({
    item,
    limits:
      appliedLimitsText(item, appliedLimits(facts, item)) +
      (item.target === undefined ? '' : RESULTS.target(item.target)),
    decision: decisionRuleText(item),
    rounding: roundingText(item),
    due: testDueText(item.due),
    on: measuredOnWord(item.measuredOn),
    plans: plansView(assessed, item),
    rows: assessment.characteristics
      .filter((verdict) => verdict.characteristic === item.characteristic)
      .flatMap((verdict) => verdict.values.map((value) => ({ unit: verdict.unit, ...valueView(item, value) }))),
  }));
}

/** What the plan says, once for the implants of which it says the same. */
function plansView({ assessment }: AssessedLot, item: Characteristic) {
  const found = new Map<string, { rule: string; says: string; verdict: string; units: string[]; notes: string[] }>();
  for (const verdict of assessment.characteristics) {
    if (verdict.characteristic !== item.characteristic) continue;
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

/** Result rows as recorded, each with the way to the file it came from. */
function resultsView(facts: Facts) {
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

function buildsView(facts: Facts) {
  return facts.lot.body.builds.map((build) => {
    const logs = facts.dossier.logs.filter((item) => item.build === build.build);
    return {
      ...build,
      machineTitle: facts.machines.get(build.machine)?.body.title ?? build.machine,
      closed: timeText(build.closedAt),
      opened: timeText(build.openedAt),
      logFiles: logs.map((log) => ({
        ...log,
        first: timeText(log.firstAt ?? ABSENT.none),
        last: timeText(log.lastAt ?? ABSENT.none),
      })),
      figures: plottedChannels(facts, build).flatMap((channel) => {
        const figure = channelFigure(facts, build, channel);
        const label = LOG_PAGE.channelOf(channel, build.build);
        return figure ? [figureView(figure, label, `log-${build.build}-${channel}`)] : [];
      }),
    };
  });
}

function materialsView(facts: Facts) {
  const cycles = reuseCycles(facts);
  return {
    figure: figureView(genealogyFigure(facts), GENEALOGY.title(facts.lot.body.lot), 'genealogy'),
    powderStates: [...facts.powderStates.values()].map(({ body }) => ({
      ...body,
      made: timeText(body.madeAt),
      reuseCycle: cycles.get(body.state),
      contains: body.inputs.map((input) =>
        LOT_PAGE.input('receipt' in input ? input.receipt : input.state, input.massG),
      ),
    })),
    receipts: [...facts.receipts.values()].map(({ body }) => ({
      ...body,
      supplierTitle: facts.suppliers.get(body.supplier)?.body.title ?? body.supplier,
      received: body.receivedAt.slice(0, 10),
      lines: certificateLines(facts, body),
      checkers: checkersOf(facts, body),
    })),
    evidence: facts.evidence,
  };
}
