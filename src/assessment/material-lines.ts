import { basisOf } from '../base/units.js';
import { type Facts, type Recorded, revisionKey } from '../dossier/facts.js';
import { type Reported, readReported } from '../dossier/reported-value.js';
import type { MaterialSpecification } from '../kinds/material-specification.js';
import type { Receipt } from '../kinds/receipt.js';
import type { Verdict } from './assessment.js';
import { inUnit } from './in-unit.js';
import { compareWithLimits, type TextLimits } from './limits.js';

/** A property that a delivery must have, as the specification of the implants or that of the material asks for it. */
export interface AskedLine extends TextLimits {
  readonly property: string;
  readonly ucum: string;
  readonly from: 'certificate' | 'own test';
  /** The material specification that asks, as `revisionKey` writes it; undefined for the specification of the implants. */
  readonly ordered?: string;
}

/** A value of a certificate or of a test, as it was stated. */
export interface StatedLine {
  readonly value: string;
  readonly ucum: string;
}

export type LineStanding = Verdict | 'units do not compare' | 'basis not stated';

/**
 * What a receipt was ordered to, where it names that.
 * @throws TypeError for a lot file without what its own documents name: nothing is asked of it by less than all.
 */
export function orderedTo(
  { materialSpecifications }: Pick<Facts, 'materialSpecifications'>,
  { materialSpecification }: Pick<Receipt, 'materialSpecification'>,
): Recorded<MaterialSpecification> | undefined {
  if (materialSpecification === undefined) return undefined;
  const { material, revision } = materialSpecification;
  const found = materialSpecifications.get(revisionKey(material, revision));
  if (found === undefined) throw new TypeError(`the lot file lacks material specification ${material} rev ${revision}`);
  return found;
}

/** Every line that is asked of a receipt: by the specification of the implants first. */
export function askedOfReceipt(
  facts: Pick<Facts, 'specification' | 'materialSpecifications'>,
  receipt: Pick<Receipt, 'material' | 'materialSpecification'>,
): AskedLine[] {
  const own = facts.specification.body.materials.filter(({ material }) => material === receipt.material);
  const ordered = orderedTo(facts, receipt)?.body;
  return [
    ...own.map((limit): AskedLine => ({ ...limit, from: 'certificate' })),
    ...(ordered?.lines ?? []).map((line) => ({ ...line, ordered: revisionKey(ordered!.material, ordered!.revision) })),
  ];
}

/**
 * How a stated value stands against what is asked. A bare `%` or `[ppm]` of a solid is a share of its mass. Of a gas it may
 * be one of volume or of mass, which differ: where the limit says which, the value has to say it too.
 */
export function standingOfLine(line: StatedLine, asked: AskedLine, category: Receipt['category']): LineStanding {
  const value = inLimitUnit(line, asked);
  if (value === undefined) return 'units do not compare';
  const [stated, wanted] = [basisOf(line.ucum), basisOf(asked.ucum)];
  if (category === 'gas') {
    if (wanted !== undefined && stated === undefined) return 'basis not stated';
  } else if ((stated ?? 'mass') !== (wanted ?? 'mass')) return 'units do not compare';
  return compareWithLimits(value, asked);
}

/** From the worst. */
const WORST_FIRST: readonly LineStanding[] = [
  'does not conform',
  'units do not compare',
  'basis not stated',
  'cannot be decided',
  'conforms',
];

/** Undefined where no limit judges. */
export const worstOf = (standings: readonly LineStanding[]): LineStanding | undefined =>
  WORST_FIRST.find((standing) => standings.includes(standing));

/** The value in the unit of the limit, with the sign that it was stated with. */
export function inLimitUnit(line: StatedLine, { ucum }: Pick<AskedLine, 'ucum'>): Reported | undefined {
  const value = readReported(line.value);
  const number = inUnit({ value: value.number, ucum: line.ucum }, ucum);
  return number === undefined ? undefined : { ...value, number };
}

/** Tests of the powder states that a receipt went into, by property: what the cell measured of it. */
export const ownTests = ({ powderStates }: Pick<Facts, 'powderStates'>, receipt: string, property: string) =>
  [...powderStates.values()]
    .filter(({ body }) => body.inputs.some((input) => 'receipt' in input && input.receipt === receipt))
    .flatMap(({ body }) => body.tests ?? [])
    .filter((test) => test.property === property);
