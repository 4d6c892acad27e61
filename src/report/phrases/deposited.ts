import { ABSENT } from './absent.js';

/** Words of the table that puts the deposited metal beside the certificates of its powder. */
export const DEPOSITED = {
  caption: 'Deposited metal beside the powder: what changed on the way',
  heads: {
    property: 'Property',
    build: 'Build',
    certified: 'Certificates, mean by mass (u)',
    deposited: 'In the deposit (u)',
    change: 'Change (u)',
  },
  property: (property: string, unit: string) => `${property} /${unit}`,
  withUncertainty: (value: string, uncertainty: string) => `${value} (${uncertainty})`,
  between: (low: string, high: string | null) => (high === null ? `above ${low}` : `between ${low} and ${high}`),
  meanOf: (value: string, count: number, specimens: string) =>
    `${value}; ${count === 1 ? '1 value' : `mean of ${count} values`}, ${specimens}`,
  byInterval: (
    value: string,
    by: string,
    {
      analysedAt,
      report,
      ageDays,
      holdsDays,
    }: { analysedAt: string; report: string; ageDays: number; holdsDays: number },
  ) =>
    `${value}; no coupon analysed: ${by}, report ${report} of ${analysedAt}, ${ageDays} of ${holdsDays} days old when the chamber closed`,
  notBy: (validation: string) => `not known by ${validation}: see the checks`,
  change: (change: string, which: 'less' | 'more' | 'open', percent: string | undefined) =>
    `${change}${percent === undefined ? '' : `, ${percent} %`}: ${DEPOSITED.words[which]}`,
  words: { less: 'lost on the way', more: 'taken up on the way', open: 'not told apart from no change' },
  notStated: ABSENT.notStated,
  note: 'u is the standard uncertainty, where the certificates and the analyses state it; by a validated interval, a certificate that states none counts with none. A change counts as one beyond twice its u.',
};
