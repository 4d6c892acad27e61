import { counted } from './counted.js';

/** What the program computes of the criterion of a study, as far as words need it. */
interface Claimed {
  readonly method: string;
  readonly answer: string;
  readonly why: string | null;
  readonly numbers: Readonly<Record<string, number>>;
}

const NAMES: Readonly<Record<string, string>> = {
  n: 'n',
  mean: 'mean',
  sd: 'standard deviation',
  p: 'p (Shapiro and Wilk)',
  confidence: 'confidence',
  reliability: 'reliability',
  k: 'factor k',
  lower: 'lower limit',
  upper: 'upper limit',
  outside: 'outside',
  smallest: 'smallest',
  largest: 'largest',
  needed: 'needed n',
  tested: 'tested',
  onRecord: 'on record',
  statement: 'statement',
  claimed: 'claimed',
};

/** Ten digits are more than anybody measured, and enough to compute it again. */
const numberText = (value: number): string => String(Number(value.toPrecision(10)));

export const DESIGN_CLAIMS = {
  numbers: ({ numbers }: Pick<Claimed, 'numbers'>): string =>
    Object.entries(numbers)
      .map(([name, value]) => `${NAMES[name] ?? name} ${numberText(value)}`)
      .join('; '),
  says: (claim: Claimed): string => {
    const numbers = DESIGN_CLAIMS.numbers(claim);
    return `By ${claim.method} it ${claim.answer === 'cannot be decided' ? `cannot be decided: ${claim.why}` : claim.answer}${numbers === '' ? '' : `. ${numbers}`}`;
  },
  values: (count: number, lots: readonly string[]): string =>
    lots.length === 0
      ? 'done elsewhere: its report is the evidence'
      : `from ${counted(count, 'value')} of lot ${lots.join(', ')}`,
  criterion: (criterion: {
    readonly characteristic: string;
    readonly claim: string;
    readonly value: string;
    readonly upTo?: string | undefined;
    readonly ucum: string;
    readonly confidence?: string | undefined;
    readonly reliability?: string | undefined;
  }): string => {
    const { characteristic, claim, value, upTo, ucum, confidence, reliability } = criterion;
    const share = reliability === undefined ? '' : `, reliability ${reliability} with confidence ${confidence}`;
    return `${characteristic} ${claim} ${value}${upTo === undefined ? '' : ` to ${upTo}`} ${ucum}${share}`;
  },
} as const;
