import { z } from 'zod';
import { conversion } from '../base/units.js';
import { all, type DccNode, demanded, find, nameOf, type Refuse, textOf } from './dcc-tree.js';
import { ucumOfDsi } from './dcc-units.js';

/** One value of a certificate, as it is written there. */
export const CertifiedReading = z.strictObject({
  result: z.string().describe('name of the result, in the first language that has one'),
  quantity: z.string(),
  place: z.int().describe('in its list, from 1; 1 where it stands alone'),
  value: z.string(),
  unit: z.string().describe('as D-SI writes it'),
  ucum: z.string().nullable().describe('as UCUM does; null for a unit that is not known here'),
  uncertainty: z
    .strictObject({ is: z.enum(['standard', 'expanded']), value: z.string(), coverageFactor: z.string() })
    .nullable()
    .describe('in the same unit; null where none is stated'),
  line: z.int().describe('of the file'),
});
type CertifiedReading = z.infer<typeof CertifiedReading>;

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;
/** Of two forms of one value each is rounded by itself. */
const ROUNDED = 1.000001;

/**
 * The values of a result, each as it stands there; of several forms of one value the first.
 * @throws what `refuse` throws, for lists of different lengths, what is no number, and two forms that differ.
 */
export function readingsOfResult(result: DccNode, refuse: Refuse): CertifiedReading[] {
  return quantitiesOf(find(result, 'data')).flatMap((quantity) =>
    readingsOf(quantity, nameOf(result), nameOf(quantity), refuse),
  );
}

function quantitiesOf(node: DccNode | undefined): DccNode[] {
  return (node?.children ?? []).flatMap((child) =>
    child.name === 'quantity' ? [child] : child.name === 'list' ? quantitiesOf(child) : [],
  );
}

function readingsOf(quantity: DccNode, result: string, name: string, refuse: Refuse): CertifiedReading[] {
  const hybrid = find(quantity, 'hybrid');
  const forms = (hybrid ?? quantity).children.filter(({ name: one }) =>
    /^(?:real|constant|realList|realListXMLList)$/.test(one),
  );
  const [first, ...others] = forms.map((form) => valuesOf(form, refuse));
  if (first === undefined) return [];
  for (const other of others) compare(first, other, refuse);
  return first.map((one, index) => ({ result, quantity: name, place: index + 1, ...one }));
}

type Value = Omit<CertifiedReading, 'result' | 'quantity' | 'place'>;

function valuesOf(form: DccNode, refuse: Refuse): Value[] {
  if (form.name === 'realList') return all(form, 'real').flatMap((one) => valuesOf(one, refuse));
  const isList = form.name === 'realListXMLList';
  const suffix = isList ? 'XMLList' : '';
  const values = words(refuse, demanded(refuse, form, `value${suffix}`));
  const units = words(refuse, demanded(refuse, form, `unit${suffix}`));
  if (!isList && values.length !== 1) refuse(form.line, `${values.length} values in one`, 'one value');
  const spread = spreadOf(form, suffix, refuse);
  const each = (list: readonly string[], what: string) => {
    if (list.length !== 1 && list.length !== values.length) {
      refuse(form.line, `${list.length} ${what} for ${values.length} values`, `one, or one for each value`);
    }
    return (index: number) => list[list.length === 1 ? 0 : index]!;
  };
  const unitAt = each(units, 'units');
  const spreadAt = spread && each(spread.values, 'uncertainties');
  const factorAt = spread && each(spread.factors, 'coverage factors');
  return values.map((value, index) => {
    const numbers = [value, ...(spreadAt ? [spreadAt(index)] : []), ...(factorAt ? [factorAt(index)] : [])];
    const odd = numbers.find((one) => !NUMBER.test(one));
    if (odd !== undefined) refuse(form.line, `"${odd}"`, 'a number');
    const unit = unitAt(index);
    return {
      ...{ value, unit, ucum: ucumOfDsi(unit) ?? null, line: form.line },
      uncertainty: spread ? { is: spread.is, value: spreadAt!(index), coverageFactor: factorAt!(index) } : null,
    };
  });
}

/** In the forms of D-SI 1 and of D-SI 2. */
function spreadOf(form: DccNode, suffix: string, refuse: Refuse) {
  const older = find(form, `expandedUnc${suffix}`);
  if (older) return expanded(older, `uncertainty${suffix}`, suffix, refuse);
  const newer = find(form, `measurementUncertaintyUnivariate${suffix}`);
  const wide = newer && find(newer, `expandedMU${suffix}`);
  if (wide) return expanded(wide, `valueExpandedMU${suffix}`, suffix, refuse);
  const standard = newer && find(newer, `standardMU${suffix}`);
  return (
    standard && {
      is: 'standard' as const,
      values: words(refuse, demanded(refuse, standard, `valueStandardMU${suffix}`)),
      factors: ['1'],
    }
  );
}

function expanded(node: DccNode, value: string, suffix: string, refuse: Refuse) {
  return {
    is: 'expanded' as const,
    values: words(refuse, demanded(refuse, node, value)),
    factors: words(refuse, demanded(refuse, node, `coverageFactor${suffix}`)),
  };
}

function words(refuse: Refuse, node: DccNode): string[] {
  // Text on both sides of an element would be two values.
  if (node.elements > 0) refuse(node.line, `elements inside ${node.name}`, 'text alone');
  const found = textOf(node)
    .split(/\s+/)
    .filter((word) => word !== '');
  return found.length > 0 ? found : refuse(node.line, 'nothing', `what ${node.name} has to say`);
}

/** Two forms of one value say the same, each rounded by itself. */
function compare(first: readonly Value[], other: readonly Value[], refuse: Refuse): void {
  if (first.length !== other.length)
    refuse(other[0]?.line ?? 1, `${other.length} values in one form, ${first.length} in another`, 'as many in each');
  first.forEach((one, index) => {
    const two = other[index]!;
    if (one.ucum === null || two.ucum === null) return;
    const { factor, offset } = conversionBetween(two, one.ucum, refuse);
    const apart = Math.abs(Number(two.value) * factor + offset - Number(one.value));
    if (apart <= ROUNDED * (lastPlace(one.value) + lastPlace(two.value) * factor)) return;
    refuse(two.line, `${two.value} ${two.unit} for ${one.value} ${one.unit}`, 'the same value in both units');
  });
}

function conversionBetween(from: Value, to: string, refuse: Refuse) {
  try {
    return conversion(from.ucum!, to);
  } catch {
    return refuse(from.line, `a value in ${from.unit} and in another sort of unit`, 'two units of one sort');
  }
}

/** One in the last decimal that is written. */
function lastPlace(text: string): number {
  const [, decimals = '', exponent = '0'] = /^[+-]?\d*\.?(\d*)(?:[eE]([+-]?\d+))?$/.exec(text) ?? [];
  return 10 ** (Number(exponent) - decimals.length);
}
