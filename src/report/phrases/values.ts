import type { ValueVerdict } from '../../assessment/assessment.js';
import type {
  AppliedStudy,
  GapReason,
  MissingValues,
  Range,
  SpecimenGap,
  VerdictNote,
} from '../../assessment/reasons.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit, tradeUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import { limitsText } from './limits.js';

/** Why a value has its verdict: `keeps at least 215 MPa`; of a mean also how many values it is of. */
export function valueText(item: Characteristic, value: Pick<ValueVerdict, 'why' | 'compared'>): string {
  const { why, compared } = value;
  const ofMean =
    'meanOf' in why.facts && why.facts.meanOf !== undefined ? `mean of ${why.facts.meanOf} values ${compared} ` : '';
  return `${ofMean}${reasonText(item, why)}`;
}

function reasonText(item: Characteristic, why: ValueVerdict['why']): string {
  const moved = 'moved' in why.facts ? why.facts.moved : undefined;
  const limits =
    moved === undefined
      ? `${limitsText(item)}${spacedUnit(item.ucum)}`
      : `${limitsText(moved)}${spacedUnit(item.ucum)} (on a coupon, by ${moved.study.study})`;
  switch (why.code) {
    case 'inside':
      return `keeps ${limits}`;
    case 'outside':
      return `misses ${limits}`;
    case 'only a bound':
      return `reported only as ${why.facts.value}: whether it keeps ${limits} is open`;
    case 'inside by more than the guard band':
      return `keeps ${limits} by more than the guard band`;
    case 'outside by more than the guard band':
      return `misses ${limits} by more than the guard band`;
    case 'within the guard band':
      return `within the guard band around ${limits}`;
    case 'no uncertainty':
      return 'the decision rule is guarded and the measurement uncertainty is missing';
    case 'missing':
      return 'the value is missing';
    case 'invalid test':
      return `invalid test: ${why.facts.cause} (decided by ${why.facts.decidedBy}); not in the acceptance set`;
    case 'before rework':
      return `measured before the rework by ${why.facts.instruction} at ${timeText(why.facts.at)}: stopped counting`;
    case 'after rework':
      return `measured after a rework by ${why.facts.instruction} at ${timeText(why.facts.at)} that the implant did not share: does not count`;
    case 'other method':
    case 'study in another unit':
    case 'incomplete':
    case 'bound in a mean':
      return obstacleText(item, why);
  }
}

/** What keeps a value, or the mean of several, from being judged. */
function obstacleText(item: Characteristic, reason: GapReason): string {
  switch (reason.code) {
    case 'other method': {
      const { method, revision } = item.method;
      return `measured by ${reason.facts.method} revision ${reason.facts.revision}, planned ${method} revision ${revision}`;
    }
    case 'study in another unit':
      return `${reason.facts.study} states its difference in ${tradeUnit(reason.facts.ucum)}, which does not convert to ${tradeUnit(item.ucum)}`;
    case 'incomplete': {
      const missing = missingText(item, reason.facts);
      return item.averaging === 'mean' ? `the mean of the replicates is judged: ${missing}` : missing;
    }
    case 'bound in a mean':
      return `${reason.facts.value} is a bound: it has no place in a mean`;
  }
}

const REPLICATES_RULE =
  'replicates are numbered from 1 on in each piece, and the planned number counts over all pieces';

/** What is missing of one specimen, with the results that are there and the rule by which they count. */
export function missingText({ replicates }: Characteristic, missing: MissingValues): string {
  const { found, rows, leftOut } = missing;
  const results = rows.length === 0 ? '' : ` (results ${rangesText(rows)})`;
  if (leftOut.length === 0) return `${found} of ${found + missing.missing} planned values are there${results}`;
  const gaps = leftOut.map(({ piece, replicate, row, numbers }) => {
    const name = piece === '' ? 'without a piece' : `piece ${piece}`;
    return `${name} has replicate ${replicate} (result ${row}) and no ${rangesText(numbers)}`;
  });
  const counts = `${found} values are there${results}, ${replicates} are planned`;
  return `${counts}, and numbers are left out: ${gaps.join('; ')} (${REPLICATES_RULE})`;
}

/** `1 to 5, 8` */
const rangesText = (ranges: readonly Range[]): string =>
  ranges
    .map(({ from, to }) => (from === to ? `${from}` : to === from + 1 ? `${from}, ${to}` : `${from} to ${to}`))
    .join(', ');

/** `L-1-W1: 0 of 2 planned values are there` */
export function gapText(item: Characteristic, { specimen, reasons }: SpecimenGap): string {
  const told = reasons.map((reason) =>
    reason.code === 'other method' && item.averaging !== 'mean'
      ? `result ${reason.facts.row} was ${obstacleText(item, reason)}`
      : obstacleText(item, reason),
  );
  return `${specimen}: ${told.join(', ')}`;
}

export function verdictNoteText(note: VerdictNote): string {
  switch (note.code) {
    case 'uncertainty not stated':
      return `measurement uncertainty not stated for ${note.facts.without} of ${note.facts.values} values`;
    case 'mean judged':
      return 'the mean of the replicates of a specimen is judged';
    case 'study applied':
      return studyText(note.facts);
  }
}

/** `coupon reads 1 % high by EQ-3 rev 1 (standard uncertainty 0.4 %): its limits are moved by that, never outwards` */
function studyText({ study, bias, standardUncertainty, ucum }: AppliedStudy): string {
  const amount = (text: string) => (ucum === '' ? `${percent(text)} %` : `${text}${spacedUnit(ucum)}`);
  const reads =
    Number(bias) === 0 ? 'as the implant' : `${amount(bias.replace('-', ''))} ${Number(bias) > 0 ? 'high' : 'low'}`;
  return `coupon reads ${reads} by ${study} (standard uncertainty ${amount(standardUncertainty)}): its limits are moved by that, never outwards; by a guarded rule the guard band holds this uncertainty too`;
}

/** `1` for a share of 0.01, without the noise of binary numbers. */
const percent = (share: string): string => String(Number((100 * Number(share)).toPrecision(9)));

/** By which rule a value is compared with its limits. */
export function decisionRuleText(item: Characteristic): string {
  return item.decision.rule === 'simple'
    ? 'simple: the value is compared with the limit'
    : `guarded: a guard band for ${item.decision.confidence} confidence inside the limit`;
}

/** How a value is rounded before. */
export function roundingText(item: Characteristic): string {
  return item.rounding.rule === 'absolute'
    ? 'absolute: compared as reported (ASTM E29)'
    : `rounded to ${item.rounding.place ?? 'the last place of the limit'}, ties to even, then compared (ASTM E29)`;
}

/** The same in few words, where a note tells it in full. */
export const shortRuleText = ({ decision }: Characteristic): string =>
  decision.rule === 'simple' ? 'simple' : `guarded, ${decision.confidence}`;

export const shortRoundingText = ({ rounding }: Characteristic): string =>
  rounding.rule === 'absolute' ? 'absolute' : `rounded to ${rounding.place ?? 'the last place'}`;
