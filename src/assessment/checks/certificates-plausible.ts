import { compareDecimal, sumDecimals } from '../../base/decimal.js';
import { canonicalJson } from '../../dossier/canonical.js';
import type { MaterialSpecification } from '../../kinds/material-specification.js';
import type { Receipt } from '../../kinds/receipt.js';
import { inLimitUnit, orderedTo } from '../material-lines.js';
import { receiptsOfBuild } from '../materials.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft, Told } from './finding-draft.js';

type Certificate = NonNullable<Receipt['certificate']>;

/** Percentiles of the particle size by volume, from the finest: each is more than the one before. */
const PERCENTILES = ['D10', 'D50', 'D90'];

export const certificatesPlausible: Check = {
  code: 'certificates-plausible',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3, 8.2.6',
  moment: 'build',
  run(facts) {
    const looked = new Map<string, [string, string]>();
    const findings = facts.lot.body.builds.flatMap(({ build }) =>
      receiptsOfBuild(facts, build).flatMap((code): FindingDraft[] => {
        const receipt = facts.receipts.get(code)!.body;
        const { certificate, material } = receipt;
        const ordered = orderedTo(facts, receipt)?.body;
        if (certificate === undefined || ordered === undefined) return [];
        looked.set(code, [certificate.number, code]);
        return faultsOf(certificate, ordered).map(({ rule, told }) => ({
          rule,
          subjects: [subject('receipt', code), subject('build', build)],
          facts: { receipt: code, material, certificate: certificate.number, ...told },
          effect: 'cannot be decided',
          units: unitsOfBuild(facts, build),
          mayBeDecided: 'concession',
        }));
      }),
    );
    return {
      findings,
      basis: { certificates: canonicalJson([...looked.values()]) },
      doesNotApply: looked.size === 0,
    };
  },
};

interface Fault {
  readonly rule: string;
  readonly told: Told;
}

const faultsOf = (certificate: Certificate, { sumRange }: MaterialSpecification): Fault[] => [
  ...percentileFaults(certificate),
  ...(sumRange === undefined ? [] : sumFaults(certificate, sumRange)),
];

function percentileFaults({ lines }: Certificate): Fault[] {
  const stated = PERCENTILES.flatMap((property) => lines.filter((line) => line.property === property));
  const values = stated.map((line) => inLimitUnit(line, { ucum: 'um' })?.number);
  const isRising = values.every(
    (value, index) =>
      value !== undefined &&
      values.slice(0, index).every((before) => before !== undefined && compareDecimal(before, value) < 0),
  );
  if (isRising) return [];
  const told = stated.map(({ property, value, ucum }) => `${property} ${value} ${ucum}`).join(', ');
  return [{ rule: 'sizes out of order', told: { values: told } }];
}

/**
 * What certain lines make together. A value below a detection limit lies between nothing and that limit, so the sum has two
 * ends. Where a line is missing, another check says so, and there is no sum.
 */
function sumFaults({ lines }: Certificate, sumRange: NonNullable<MaterialSpecification['sumRange']>): Fault[] {
  const { properties, ucum, lower, upper } = sumRange;
  const values = properties.map((property) => {
    const line = lines.find((item) => item.property === property);
    return line && inLimitUnit(line, { ucum });
  });
  if (values.some((value) => value === undefined)) return [];
  const least = sumDecimals(values.map((value) => (/[<≤]/.test(value!.qualifier) ? '0' : value!.number)));
  const most = sumDecimals(values.map((value) => value!.number));
  const isOpen = values.some((value) => /[>≥]/.test(value!.qualifier));
  const isBelow = compareDecimal(most, lower) < 0 && !isOpen;
  const isAbove = compareDecimal(least, upper) > 0;
  if (!isBelow && !isAbove) return [];
  const sum = least === most ? most : `${least} to ${most}`;
  return [{ rule: 'sum out of range', told: { sum, unit: ucum, lower, upper, values: properties.join(', ') } }];
}
