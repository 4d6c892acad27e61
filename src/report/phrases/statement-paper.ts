import type { StatementChanges } from '../../assessment/family/compare-statements.js';
import type { CapabilityStatement } from '../../assessment/family/statement.js';
import { limitsOf } from '../../assessment/performance.js';
import { namesText } from '../../dossier/statement.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { PageWords } from '../../pdf/page-words.js';
import { counted } from './counted.js';
import { ruleText } from './family-study.js';
import { PAGE_WORDS } from './page-words.js';
import { indexText, lowerBoundText } from './rounded.js';

/** Words of every page of the paper of a capability statement. */
export const STATEMENT_WORDS: PageWords = {
  ...PAGE_WORDS,
  properties: {
    ...PAGE_WORDS.properties,
    schema: 'Identity of a capability statement',
    number: 'Number of the statements of this family and characteristic',
    revision: 'Number of the statement among them',
    digest: 'SHA-256 of the statement that the paper shows',
    state: 'draft until quality reviewed it, then final',
  },
};

/** Words of the paper of a capability statement. */
export const STATEMENT_PAPER = {
  title: (title: string, family: string) => `Capability of ${title}, family ${family}`,
  subject: (family: string, characteristic: string) => `Characteristic ${characteristic} of family ${family}`,
  state: (number: number, draft: boolean) =>
    `Capability statement ${number} · ${draft ? 'DRAFT: quality has not reviewed it' : 'reviewed by signature'}`,
  demo: ' · fictional demo data',
  since: 'Since it was stated',
  care: 'Read with care',
  stated: 'What is stated, and on what it rests',
  compared: 'Compared with the statement before',
  first: 'It is the first statement of this characteristic.',
  charts: 'Charts',
  signals: 'Signals, with what people found they came from',
  lots: 'Lots',
  complete: 'Complete at',
  seen: 'What is seen',
  came: 'What came of it',
  noSignals: 'The chart shows none.',
  was: 'Signals that a correction removed',
  pooled: 'Whether what is pooled belongs together',
  factor: 'By',
  groups: 'Groups',
  found: 'Found',
  split: 'Each group alone',
  changed: 'What changed on the way',
  beside: 'What changed beside signals, the least like chance first',
  apart: 'Drawn apart, and no points of the chart',
  builds: 'Every build of the window, in or out',
  closed: 'Chamber closed',
  lot: 'Lot',
  build: 'Build',
  values: 'Values',
  bounds: 'Bounds',
  takenOut: 'Taken out',
  again: 'Again',
  mean: 'Mean',
  counts: 'Counts',
  signatures: 'Signatures on this statement',
  by: 'Signed by',
  meaning: 'Meaning',
  at: 'At',
  reason: 'Reason',
  content: 'Signed content',
  nobody: 'Nobody reviewed it.',
  proof: 'Proof',
  statement: 'Statement (SHA-256)',
  rows: 'Its rows (SHA-256)',
  before: 'Statement before (SHA-256)',
  trail: 'Audit trail when it was stated',
  trailOf: (size: number) => `${size} entries, root `,
  program: 'Stated by',
  printed: 'Printed',
  printedBy: (at: string, by: string, program: string) => `${at}, by ${by}, with ${program}`,
  check: 'To check it',
  how: 'lotwright verify FILE computes the statement again from the attached rows to the last digit, compares it with the one before, and checks seal, signatures and audit trail, without any other file',
  attached: 'Carried in this file',
  name: 'Name, and what it is',
  sha: 'SHA-256',
  none: 'none',
  group: (factor: string, name: string, n: number, builds: number, says: string) =>
    `${factor} ${name}, ${counted(n, 'value')} of ${counted(builds, 'build')}: ${says}`,
  change: (lot: string, says: string) => `before lot ${lot}: ${says}`,
  besideOne: (lot: string, change: string, says: string) => `before lot ${lot}: ${change}; ${says}`,
  apartOne: (lot: string, specimen: string, value: string, says: string) =>
    `${value} of ${specimen}, lot ${lot}: ${says}`,
  wasOne: (point: string, says: string, outcome: string, cause: string, by: string) =>
    `was: ${point}, ${says}; ${outcome}: ${cause} (${by})`,
} as const;

/** What each attachment of the paper is. */
export const STATEMENT_CARRIES = {
  statement: 'the statement: plan, limits, every row, and all that came of them',
  previous: 'the statement before, as it was stated',
  note: 'how to recompute without this program',
  enclosure: 'signatures, keys, head of the audit trail and what came to be known since',
} as const;

interface Since {
  readonly impacts: readonly {
    readonly impact: string;
    readonly cause: string;
    readonly conclusion: string;
    readonly lots: readonly string[];
  }[];
  readonly lots: readonly { readonly lot: string }[];
  readonly later: number | null;
}

/** What has to be known beside a statement, a sentence each; empty where nothing came up. */
export const sinceTexts = ({ impacts, lots, later }: Since): string[] => [
  ...(later === null ? [] : [`Statement ${later} took its place.`]),
  ...impacts.map(
    ({ impact, cause, conclusion, lots: touched }) =>
      `Impact ${impact} (${cause} was found off) touches results that count here, of ${lotsText(touched)}: ${conclusion}`,
  ),
  ...(lots.length === 0
    ? []
    : [
        `Of its window, ${lotsText(lots.map(({ lot }) => lot))} ${lots.length === 1 ? 'was' : 'were'} not known when it was stated: state it again.`,
      ]),
];

const lotsText = (lots: readonly string[]): string => `${lots.length === 1 ? 'lot' : 'lots'} ${namesText(lots)}`;

const SAYS: Readonly<Record<StatementChanges['now']['says'], string>> = {
  able: 'able',
  'not able': 'not able',
  'too few': 'too few builds to say',
  'not stated': 'nothing with confidence',
};

const ppkText = ({ ppk, ppkLower }: StatementChanges['now']): string =>
  ppk === null ? 'none' : `${indexText(ppk)}${ppkLower === null ? '' : ` (at least ${lowerBoundText(ppkLower)})`}`;

/** What is otherwise than in the statement before, a sentence each; one that says so where nothing is. */
export function changesTexts(changes: StatementChanges): string[] {
  const { before, now, plan, limits, chartLimits, added, gone, otherwise, turned, signals, signalsGone } = changes;
  const said = [
    ...(before.says === now.says ? [] : [`It said ${SAYS[before.says]}, and now says ${SAYS[now.says]}.`]),
    ...(before.ppk === now.ppk && before.ppkLower === now.ppkLower
      ? []
      : [`Ppk was ${ppkText(before)}, and is ${ppkText(now)}.`]),
    ...(before.n === now.n && before.builds === now.builds
      ? []
      : [
          `${counted(before.n, 'value')} of ${counted(before.builds, 'build')} counted, and now ${now.n} of ${now.builds}.`,
        ]),
    ...(plan === null
      ? []
      : [
          `The plan was ${plan.from.plan} revision ${plan.from.revision}, and is ${plan.to.plan} revision ${plan.to.revision}.`,
        ]),
    ...(limits === null ? [] : [`The specified limits were ${pairText(limits.from)}, and are ${pairText(limits.to)}.`]),
    ...(chartLimits ? ['The baseline fixes other limits of the chart.'] : []),
    ...(added.length === 0 ? [] : [`New in its window: ${lotsText(added)}.`]),
    ...(gone.length === 0 ? [] : [`No more in its window: ${lotsText(gone)}.`]),
    ...otherwiseTexts(otherwise),
    ...(turned.length === 0 ? [] : [`In where they were out, or out where they were in: ${lotsText(turned)}.`]),
    ...signals.map(({ rule, at }) => `New signal at ${at}: ${ruleText(rule)}.`),
    ...(signalsGone === 0
      ? []
      : [
          `${counted(signalsGone, 'signal')} of the statement before ${signalsGone === 1 ? 'is' : 'are'} no more on the chart.`,
        ]),
  ];
  return [
    `Statement ${before.number} was before it.`,
    ...(said.length === 0 ? ['Nothing that is compared is otherwise.'] : said),
  ];
}

const PART_WORDS: Readonly<Record<StatementChanges['otherwise'][number]['what'][number], string>> = {
  values: 'other values',
  bounds: 'another number of values that are only bounds',
  'taken out': 'other values taken out',
  context: 'another machine, recipe, method, unit or exposure',
  limits: 'other limits by which it is judged',
  apart: 'other bounds, repeats, replacements or reworked values',
  nonconforming: 'another decision on what does not conform',
  powder: 'other powder on record',
  operator: 'another operator on record',
  analysts: 'other analysts on record',
  maintained: 'other maintenance on record',
  calibrated: 'another calibration of a gauge on record',
  worn: 'other uses of tips, tools, filters or media on record',
  batches: 'another batch of medium on record',
  measured: 'another time of measurement',
};

/** Lots of which the same is otherwise stand together. */
function otherwiseTexts(otherwise: StatementChanges['otherwise']): string[] {
  const found = new Map<string, string[]>();
  for (const { lot, what } of otherwise) {
    const says = what.map((part) => PART_WORDS[part]).join(', ');
    found.set(says, [...(found.get(says) ?? []), lot]);
  }
  return [...found].map(([says, lots]) => `Otherwise than before, ${lotsText(lots)}: ${says}.`);
}

const pairText = ([lower = null, upper = null, boundary = null]: readonly (string | null)[]): string => {
  const passed = (side: string) => (boundary === side ? ' (which no value can pass)' : '');
  const told = [
    ...(lower === null ? [] : [`at least ${lower}${passed('lower')}`]),
    ...(upper === null ? [] : [`at most ${upper}${passed('upper')}`]),
  ];
  return told.join(' and ') || 'none';
};

/** How anybody computes the index again from the attached rows; for a statement without one, why not. */
export function statementNote({ input, study }: CapabilityStatement): string {
  const { index } = study;
  const { characteristic: item, family, plan } = input;
  const head = [
    `How to recompute the capability of ${item.characteristic}, family ${family}`,
    '',
    'All of it is in capability-statement.json. "input.rows" has a row for each build and context; "study.listed" tells in',
    'the same order which count (leftOut is null there). The values of those are taken together, build by build.',
    '',
  ];
  if (index.ppk === null)
    return [...head, 'No index is stated: "study.notes" and "study.index.notes" say why.', ''].join('\n');
  return [
    ...head,
    `1. n, the number of these values: ${index.n}`,
    ...(index.bounded === 0
      ? [`2. Their mean: ${index.mean}`, `3. Their standard deviation, divisor n - 1: ${index.sd}`]
      : [
          `   ${index.bounded} more are only bounds: "beside.apart" of their rows, why "bound".`,
          '2. Mean and standard deviation s at which the product of all normal densities at the values, of P(x < bound) for',
          `   each "<" and of P(x > bound) for each ">" is largest. Mean: ${index.mean}`,
          `3. s x SQRT(n / (n - 1)): ${index.sd}`,
        ]),
    `4. Limits: "input.characteristic" lower ${item.lower ?? 'none'}, upper ${item.upper ?? 'none'}.${boundaryText(item)}`,
    `   ${sidesText(item)}:`,
    `   ${index.ppk}`,
    `5. Lower bound at confidence ${index.confidence}: "study.index.bounds", independent from the noncentral t distribution`,
    '   with n - 1 degrees of freedom, builds from the components of variance with as many as "study.index.spread" gives;',
    `   the smaller of both is what is stated: ${index.ppkLower ?? 'none'}`,
    `6. Limits of the chart: from "input.baseline" alone, plan ${plan.plan} revision ${plan.revision}.`,
    '',
    'docs/formulas.md of the program gives each formula with its source.',
    '',
  ].join('\n');
}

const boundaryText = ({ boundary }: Characteristic): string =>
  boundary === undefined ? '' : ` Its "boundary" is "${boundary}": no value can pass that limit, which is no side.`;

/** The sides that an index has, as its formula. */
function sidesText(item: Characteristic): string {
  const { lower, upper } = limitsOf(item);
  const below = lower === undefined ? undefined : '(mean - lower) / (3 sd)';
  const above = upper === undefined ? undefined : '(upper - mean) / (3 sd)';
  return below && above ? `Ppk is the smaller of ${below} and ${above}` : `Ppk is ${below ?? above}`;
}
