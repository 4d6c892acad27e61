import type { ComputedClaim } from '../../design-history/claims.js';
import type { Criterion } from '../../kinds/design-history/study-criterion.js';
import { counted } from './counted.js';

type Claimed = Pick<ComputedClaim, 'method' | 'answer' | 'why' | 'numbers'>;

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
  holdWeeks: 'weeks to hold',
  longestWeeks: 'longest exposure in weeks',
  localisation: 'deepest over mean attack',
  localisationUncertainty: 'its standard uncertainty',
  strengthMean: 'strength left',
  strengthLower: 'at least',
  strengthUpper: 'at most',
  stiffnessMean: 'stiffness left',
  stiffnessLower: 'at least',
  stiffnessUpper: 'at most',
  marginWeeks: 'weeks known beyond that',
  goneByWeeks: 'gone by week',
  goneLowerUm: 'mean loss by then at least, in µm',
  goneUpperUm: 'mean loss by then at most, in µm',
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
  from: ({ lots, values, losses, method }: Pick<ComputedClaim, 'lots' | 'values' | 'losses' | 'method'>): string => {
    if (lots.length === 0) return 'done elsewhere: its report is the evidence';
    const count =
      method === 'loss against window' ? counted(losses.length, 'exposure') : counted(values.length, 'value');
    return `from ${count} of lot ${lots.join(', ')}`;
  },
  criterion: (criterion: Criterion): string => {
    const { characteristic, claim, value, upTo, ucum, confidence, reliability, window } = criterion;
    if (window !== undefined) {
      const { zoneClass, section, strengthLeft, stiffnessLeft, goneByWeeks } = window;
      const of =
        section.shape === 'table'
          ? 'the section of the table'
          : `a ${section.shape === 'round' ? 'round core' : 'plate'} of ${section.sizeMm} mm`;
      const gone = goneByWeeks === undefined ? '' : `, and is gone by week ${goneByWeeks}`;
      return `${characteristic}: zones of class ${zoneClass} hold at least ${value} weeks; of ${of} ${strengthLeft} of the strength and ${stiffnessLeft} of the stiffness are left then${gone}`;
    }
    const share = reliability === undefined ? '' : `, reliability ${reliability} with confidence ${confidence}`;
    return `${characteristic} ${claim} ${value}${upTo === undefined ? '' : ` to ${upTo}`} ${ucum}${share}`;
  },
} as const;
