import type { Verdict } from '../../assessment/assessment.js';
import { timeText } from '../../dossier/time-text.js';
import type { RowsCode } from '../lot-summary.js';
import type { NotChecked } from '../not-checked.js';
import { checkOutcomeText, levelText, verdictText } from './codes.js';

const list = (units: readonly string[]): string => (units.length === 0 ? '' : ` (${units.join(', ')})`);
const count = (number: number, one: string, many = `${one}s`): string => `${number} ${number === 1 ? one : many}`;

/** So many values are told one by one; of more their number and rows. */
const MOST_VALUES = 6;

/** What stands first of a lot: on page 1 of its record, and above the button of whoever signs. */
export const LOT_SUMMARY = {
  check: (title: string, outcome: string, units: readonly string[]) =>
    `${title}: ${checkOutcomeText(outcome)}${list(units)}`,
  values: (
    title: string,
    verdict: Verdict,
    of: {
      readonly limits: string;
      readonly rows: string;
      readonly values: readonly string[];
      readonly missing: number;
      readonly units: readonly string[];
    },
  ) => {
    const { limits, rows, values, missing, units } = of;
    const told = values.length > 0 && values.length <= MOST_VALUES ? `: ${values.join(', ')}` : '';
    const found = values.length === 0 ? [] : [`${count(values.length, 'value')}${told} in ${rowsText(rows)}`];
    const gaps = missing === 0 ? [] : [`${count(missing, 'planned value')} missing`];
    const stand = verdict === 'does not conform' ? `outside ${limits}` : `${verdictText(verdict)} against ${limits}`;
    return `${title} ${stand}, ${[...found, ...gaps].join(', ')}${list(units)}`;
  },
  plan: (title: string, verdict: Verdict, units: readonly string[]) =>
    `${title}: its values together ${verdict === 'does not conform' ? 'do not conform' : verdictText(verdict)} by the plan${list(units)}`,
  logFindings: (level: string, found: number) => `${count(found, 'log finding')} at level ${levelText(level)}`,
  decided: (title: string, findings: number, units: readonly string[]) =>
    `${title}: ${count(findings, 'finding')} accepted by decision${list(units)}`,
  signal: (title: string, specimen: string, value: number, says: string) =>
    `Signal on the chart without an outcome: ${title}, ${specimen} at ${value} ${says}`,
  noUncertainty: (without: number, of: number, titles: readonly string[]) =>
    `Measurement uncertainty not stated for ${without} of ${count(of, 'value')}: ${titles.join(', ')}`,
  atRisk: (
    risk: {
      readonly build: string;
      readonly receipt: string;
      readonly decidedAt: string | null;
      readonly acceptedAt: string | null;
    },
    units: readonly string[],
  ) =>
    `${risk.build} built at risk from ${risk.receipt}, ${risk.decidedAt === null ? 'not allowed by both' : `allowed ${timeText(risk.decidedAt)}`}, ${risk.acceptedAt === null ? 'its material not accepted yet: on hold' : `its material accepted ${timeText(risk.acceptedAt)}`}${list(units)}`,
  nonconformities: (keys: readonly string[], units: readonly string[]) =>
    `${count(keys.length, 'nonconformity', 'nonconformities')}: ${keys.join(', ')}${list(units)}`,
  concession: (nonconformity: string, clause: string, units: readonly string[]) =>
    `Let go as it is by the concession of ${nonconformity}, by ${clause}${list(units)}`,
  rework: (instruction: string, nonconformity: string, units: readonly string[]) =>
    `Reworked by ${instruction} for ${nonconformity}${list(units)}`,
  moved: (lot: string, move: string, isLeft: boolean, units: readonly string[]) =>
    `${isLeft ? `Went on in lot ${lot}` : `Came over from lot ${lot}, where it was built,`} by move ${move}${list(units)}`,
  lateFacts: (found: number) => count(found, 'fact of the build entered late', 'facts of the build entered late'),
  severalForACase: (units: readonly string[]) => `More than one implant for one case${list(units)}`,
  openTest: (title: string, units: readonly string[]) => `${title}: due after release and open${list(units)}`,
  rows: (code: RowsCode, found: number, rows: string) => `${ROWS[code](found)} in ${rowsText(rows)}`,
  range: (from: number, to: number) =>
    from === to ? `${from}` : to === from + 1 ? `${from}, ${to}` : `${from} to ${to}`,

  notChecked: {
    shape: 'the scanned shape against the design, since an implant has no scan on record',
    'material-as-ordered': 'material against what was ordered, since a receipt names no specification',
    'law-and-route': 'what a law asks of design, acceptance and route, since neither the family nor a case names one',
  } satisfies Record<NotChecked, string>,
  /** @param of how many things. */
  notCheckedLead: (of: number) => `${count(of, 'thing was', 'things were')} not checked: `,
  empty: 'Every check that applies passes, and every value lies inside its limits.',
  page: (first: string, last = first) => (first === last ? `page ${first}` : `pages ${first} to ${last}`),
};

const rowsText = (rows: string): string => (/^\d+$/.test(rows) ? `row ${rows}` : `rows ${rows}`);

const ROWS = {
  late: (found: number) => count(found, 'result entered late', 'results entered late'),
  corrected: (found: number) => count(found, 'corrected result'),
  repeat: (found: number) => count(found, 'repeated test'),
  replacement: (found: number) => count(found, 'test of a replacement', 'tests of replacements'),
  'invalid test': (found: number) => count(found, 'invalid test'),
  reworked: (found: number) => count(found, 'result that a rework set aside', 'results that a rework set aside'),
  'not-judged': (found: number) => count(found, 'result that no plan asks for', 'results that no plan asks for'),
};
