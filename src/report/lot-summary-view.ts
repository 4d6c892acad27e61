import type { Assessment, CharacteristicVerdict } from '../assessment/assessment.js';
import { countsOf } from '../assessment/counts.js';
import { appliedLimits } from '../assessment/study-limits.js';
import type { Facts } from '../dossier/facts.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import { resultAnchor } from './anchors.js';
import { type CellState, lotMatrix } from './lot-matrix.js';
import { type LotSummary, summaryOf } from './lot-summary.js';
import { implantAddress, lotAddress, lotAnchorAddress } from './page-addresses.js';
import { ABSENT, missingText } from './phrases/absent.js';
import { countInWords } from './phrases/counts.js';
import { appliedLimitsText } from './phrases/limits.js';
import { LOT_MATRIX } from './phrases/lot-matrix.js';
import { LOT_PAGE } from './phrases/lot-page.js';
import { gatesText } from './phrases/release-steps.js';
import { measuredOnWord, sideText } from './phrases/trade-codes.js';
import { notCheckedLines, summaryLines } from './summary-lines.js';

/** What people decided on an implant, as far as it is counted. */
interface DecidedUnit {
  readonly serial: string;
  readonly decision: string;
  readonly releasedFor: readonly ReleaseStep[];
}

interface Assessed {
  readonly facts: Facts;
  readonly assessment: Assessment;
}

/**
 * What a reviewer and a releaser see above their signature, on the page of the lot and where it is signed: every exception,
 * each implant with its values and with whatever else is asked of it, and the counts by what was decided.
 */
export function lotSummaryView(
  { facts, assessment }: Assessed,
  units: readonly DecidedUnit[],
  summary: LotSummary = summaryOf(facts, assessment),
) {
  const lot = facts.lot.body.lot;
  const link = ({ says, anchors }: { says: string; anchors: readonly string[] }) => ({
    says,
    to: lotAnchorAddress(lot, anchors[0]!),
  });
  return {
    exceptions: summaryLines(summary, facts).map(link),
    notChecked: notCheckedLines(summary).map(({ says }) => says),
    gates: gatesOf(assessment),
    ...implantsView({ facts, assessment }),
    ...asked({ facts, assessment }),
    counts: countsView(facts, units),
  };
}

/** What each implant still has to pass, those alike together. */
function gatesOf({ units }: Assessment): string {
  const alike = new Map<string, string[]>();
  for (const { serial, gates } of units) {
    const says = gatesText(gates);
    alike.set(says, [...(alike.get(says) ?? []), serial]);
  }
  if (alike.size <= 1) return [...alike.keys()].join('');
  return [...alike].map(([says, serials]) => `${serials.join(', ')}: ${says}`).join('. ');
}

/** Rows of implants, columns of characteristics. */
function implantsView({ facts, assessment }: Assessed) {
  const lot = facts.lot.body.lot;
  const { characteristics } = facts.specification.body;
  const implants = new Map(facts.lot.body.implants.map((implant) => [implant.serial, implant]));
  return {
    columns: characteristics.map((item) => ({
      title: item.title,
      unit: tradeUnit(item.ucum),
      limits: appliedLimitsText(item, appliedLimits(facts, item)),
      on: measuredOnWord(item.measuredOn),
      to: lotAnchorAddress(lot, `characteristic ${item.characteristic}`),
    })),
    rows: assessment.units.map(({ serial, verdict }) => {
      const implant = implants.get(serial)!;
      const found = facts.cases.get(implant.case)?.body;
      return {
        serial,
        verdict,
        to: implantAddress(lot, serial),
        case: implant.case,
        site: found ? LOT_PAGE.place(found.anatomicalSite, sideText(found.side)) : ABSENT.withheld,
        neededBy: found?.neededBy ?? ABSENT.withheld,
        cells: characteristics.map((item) => cellView(lot, verdictOn(assessment, item, serial))),
      };
    }),
  };
}

const verdictOn = ({ characteristics }: Assessment, item: Characteristic, serial: string) =>
  characteristics.find(({ characteristic, unit }) => characteristic === item.characteristic && unit === serial);

function cellView(lot: string, verdict: CharacteristicVerdict | undefined) {
  if (!verdict) return undefined;
  const there = verdict.values.filter(({ row }) => row !== null);
  const missing = verdict.values.length - there.length;
  return {
    verdict: verdict.verdict,
    values: [
      ...there.map(({ value, row }) => ({
        shown: value || ABSENT.missing,
        to: lotAddress(lot, 'tests', resultAnchor(row!)),
      })),
      ...(missing === 0 ? [] : [{ shown: missingText(missing), to: null }]),
    ],
  };
}

const AGAINST: ReadonlySet<CellState> = new Set<CellState>(['does not conform', 'cannot be decided', 'blocks release']);

/** What is asked of each implant besides its values: rows of implants again. */
function asked({ facts, assessment }: Assessed) {
  const lot = facts.lot.body.lot;
  const serials = assessment.units.map(({ serial }) => serial);
  const rows = lotMatrix(facts, assessment, serials).filter(({ of }) => 'aspect' in of);
  const states = new Set(rows.flatMap(({ cells }) => cells.map(({ state }) => state)));
  return {
    legend: [...states]
      .filter((state) => !AGAINST.has(state))
      .map((state) => LOT_MATRIX.states[state])
      .join(', '),
    aspects: rows.map(({ of }) => ('aspect' in of ? LOT_MATRIX.aspects[of.aspect] : '')),
    askedOf: serials.map((serial, place) => ({
      serial,
      cells: rows.map(({ cells }) => {
        const { state, anchor } = cells[place]!;
        const [mark, ...words] = LOT_MATRIX.states[state].split(' ');
        return {
          state,
          mark,
          says: words.join(' '),
          isAgainst: AGAINST.has(state),
          to: lotAnchorAddress(lot, anchor),
        };
      }),
    })),
  };
}

function countsView(facts: Facts, units: readonly DecidedUnit[]) {
  const serials = (isMeant: (unit: DecidedUnit) => boolean) => units.filter(isMeant).map(({ serial }) => serial);
  const released = (step: ReleaseStep) => serials(({ releasedFor }) => releasedFor.at(-1) === step);
  const { implants, labels } = countsOf(facts, {
    released: { sterilisation: released('sterilisation'), distribution: released('distribution') },
    rejected: serials(({ decision }) => decision === 'rejected'),
  });
  return { implants: countInWords(implants), labels: labels && countInWords(labels) };
}
