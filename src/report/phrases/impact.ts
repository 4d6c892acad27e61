import { timeText } from '../../dossier/time-text.js';
import { counted } from './counted.js';
import { kindText } from './kinds.js';

/** What an impact says around its facts. */

interface Quantity {
  readonly value: string;
  readonly ucum: string;
}

interface Altered {
  readonly without: boolean;
  readonly bias?: Quantity | undefined;
  readonly uncertainty?: Quantity | undefined;
}

/** `each value less 0.2 mg, and with a standard uncertainty of at least 0.1 mg` */
export function alteredText({ without, bias, uncertainty }: Altered): string {
  if (without) return 'left out';
  const said = [
    ...(bias ? [`each value less ${bias.value} ${bias.ucum}`] : []),
    ...(uncertainty ? [`with a standard uncertainty of at least ${uncertainty.value} ${uncertainty.ucum}`] : []),
  ];
  return said.join(', and ') || 'as they are';
}

type Because =
  | { readonly code: 'found off'; readonly certificate: string; readonly lastGood: string | null }
  | { readonly code: 'not found off'; readonly lastGood: string | null }
  | { readonly code: 'all' };

export function intervalText(because: Because): string {
  if (because.code === 'all') return 'all that is on record, since no time was asked for';
  const good =
    because.lastGood === null ? 'the first calibration' : `calibration ${because.lastGood}, which found it right,`;
  return because.code === 'found off'
    ? `from ${good} to calibration ${because.certificate}, which found it off`
    : `from ${good} to now: no calibration found it off`;
}

/** Why a lot could not be assessed again. */
export function notReadText(why: 'lot file not here' | 'lot file not readable' | 'assessment not readable'): string {
  switch (why) {
    case 'lot file not here':
      return 'its lot file is not in this data folder';
    case 'lot file not readable':
      return 'its lot file was altered, or is in a form that this version of the program does not read';
    case 'assessment not readable':
      return 'what was said of it is in a form that this version of the program does not read';
  }
}

/** What an impact cannot know where the design alone judges scans by the instrument that was off. */
export const scannedText = (implants: number): string =>
  `whether ${counted(implants, 'implant')} ${implants === 1 ? 'has' : 'have'} the shape that the design asks for: a scan by this instrument would have to be measured again, so the verdict cannot be decided`;

export const capabilityText = (family: string, characteristic: string, number: number): string =>
  `capability of ${characteristic} in family ${family}, statement ${number}`;

/** What the command prints. */
export const IMPACT_LINES = {
  cause: (title: string, key: string, name: string) => `Impact of ${title} ${key} (${name})`,
  interval: (from: string, to: string, proposed: string | null) =>
    `Used ${timeText(from)} to ${timeText(to)}${proposed === null ? '' : `: ${proposed}`}`,
  counted: (results: number, lots: number, units: number) =>
    `${counted(results, 'result')} in ${counted(lots, 'lot')} touched, and ${counted(units, 'implant')}`,
  again: (altered: string, flips: number) =>
    `Assessed again with these results ${altered}: ${flips === 0 ? 'no implant changes its verdict' : `${counted(flips, 'implant')} with another verdict`}`,
  units: 'Implants',
  notRead: 'Lots that could not be assessed again: each of their implants counts as undecided',
  results: 'Results, the least margin first',
  builds: 'Builds',
  powder: 'Powder states',
  claims: 'Studies, validations and claims of the design that used them',
  capability: 'Statements of capability in which these lots count',
  margin: (margin: number, ucum: string) => `margin ${margin} ${ucum}`,
  noMargin: 'no limit',
  leftOut: 'left out',
  becomes: (first: string, again: string) => (first === again ? first : `${first}, then ${again}`),
  draft: (file: string) => `Draft of the impact assessment written to ${file}: complete it and take it in`,
} as const;

/** Reasons of holds that the program places because of an impact. */
export const IMPACT_HOLDS = {
  touched: (impact: string, cause: { readonly kind: string; readonly key: string }) =>
    `touched by ${kindText(cause.kind)} ${cause.key}, impact assessment ${impact}`,
};

/** What stands in a draft for people to write. */
export const IMPACT_DRAFT = {
  conclusion: 'TO BE WRITTEN: what follows for the results and the units',
  reason: 'TO BE WRITTEN: why it was looked at',
} as const;
