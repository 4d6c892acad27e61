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
    .describe('in the same unit; null where none is stated, and where `uncertaintyAs` names how it is'),
  uncertaintyAs: z
    .string()
    .nullable()
    .describe('element that states an uncertainty in a form that is not read; null where there is none'),
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
  return quantitiesOf(find(refuse, result, 'data')).flatMap((quantity) =>
    readingsOf(quantity, nameOf(refuse, result), nameOf(refuse, quantity), refuse),
  );
}

function quantitiesOf(node: DccNode | undefined): DccNode[] {
  return (node?.children ?? []).flatMap((child) =>
    child.name === 'quantity' ? [child] : child.name === 'list' ? quantitiesOf(child) : [],
  );
}

const FORM = /^(?:real|constant|realList|realListXMLList)$/;

function readingsOf(quantity: DccNode, result: string, name: string, refuse: Refuse): CertifiedReading[] {
  const hybrid = find(refuse, quantity, 'hybrid');
  const beside = hybrid && quantity.children.find((child) => FORM.test(child.name));
  if (beside) refuse(beside.line, `${beside.name} beside hybrid`, 'all forms of a value in it');
  const forms = (hybrid ?? quantity).children.filter((child) => FORM.test(child.name));
  const [first, ...others] = forms.map((form) => valuesOf(form, refuse));
  if (first === undefined) return [];
  for (const other of others) compare(first, other, refuse);
  const relative = unreadIn(quantity);
  return first.map(({ uncertaintyAs, ...one }, index) => ({
    ...{ result, quantity: name, place: index + 1, ...one },
    uncertaintyAs: uncertaintyAs ?? (one.uncertainty === null ? relative : null),
  }));
}

type Value = Omit<CertifiedReading, 'result' | 'quantity' | 'place'>;

/** @param list in which it stands, which may state unit and uncertainty for all in it. */
function valuesOf(form: DccNode, refuse: Refuse, list?: DccNode): Value[] {
  if (form.name === 'realList') return all(form, 'real').flatMap((one) => valuesOf(one, refuse, form));
  const isList = form.name === 'realListXMLList';
  const suffix = isList ? 'XMLList' : '';
  const values = words(refuse, demanded(refuse, form, `value${suffix}`));
  const unitOfAll = list && find(refuse, form, 'unit') === undefined ? find(refuse, list, 'listUnit') : undefined;
  const units = words(refuse, unitOfAll ?? demanded(refuse, form, `unit${suffix}`));
  if (!isList && values.length !== 1) refuse(form.line, `${values.length} values in one`, 'one value');
  const own = spreadOf(form, suffix, refuse);
  const unreadOwn = own ? null : unreadIn(form);
  const spread = own ?? (list && unreadOwn === null ? spreadOfAll(list, refuse) : undefined);
  const unread = spread ? null : (unreadOwn ?? (list ? unreadIn(list) : null));
  const each = (told: readonly string[], what: string) => {
    if (told.length !== 1 && told.length !== values.length) {
      refuse(form.line, `${told.length} ${what} for ${values.length} values`, `one, or one for each value`);
    }
    return (index: number) => told[told.length === 1 ? 0 : index]!;
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
      uncertaintyAs: unread,
    };
  });
}

/** What D-SI, or DCC beside it, calls an element that says how sure a value is. */
const UNCERTAIN = /unc(?:$|XMLList|ertainty)|MU(?:$|XMLList)|region|coverage|covariance/i;

/** The element by which a form, or what holds it, states an uncertainty; asked where none was read. */
const unreadIn = ({ children }: DccNode): string | null =>
  children.find(({ name }) => UNCERTAIN.test(name))?.name ?? null;

/** In the forms of D-SI 1 and of D-SI 2. */
function spreadOf(form: DccNode, suffix: string, refuse: Refuse) {
  const older = olderSpread(form, suffix, refuse);
  const newer = find(refuse, form, `measurementUncertaintyUnivariate${suffix}`);
  return older ?? (newer && newerSpread(newer, suffix, refuse));
}

/** Of all values of a list that state none of their own. */
function spreadOfAll(list: DccNode, refuse: Refuse) {
  const older = find(refuse, list, 'listUnivariateUnc');
  const newer = find(refuse, list, 'listMeasurementUncertaintyUnivariate');
  return (older && olderSpread(older, '', refuse)) ?? (newer && newerSpread(newer, '', refuse));
}

function olderSpread(form: DccNode, suffix: string, refuse: Refuse) {
  const wide = find(refuse, form, `expandedUnc${suffix}`);
  if (wide) return expanded(wide, `uncertainty${suffix}`, suffix, refuse);
  const interval = find(refuse, form, `coverageInterval${suffix}`);
  return interval && standard(interval, `standardUnc${suffix}`, refuse);
}

function newerSpread(form: DccNode, suffix: string, refuse: Refuse) {
  const wide = find(refuse, form, `expandedMU${suffix}`);
  if (wide) return expanded(wide, `valueExpandedMU${suffix}`, suffix, refuse);
  const narrow = find(refuse, form, `standardMU${suffix}`) ?? find(refuse, form, `coverageIntervalMU${suffix}`);
  return narrow && standard(narrow, `valueStandardMU${suffix}`, refuse);
}

/** An interval states its standard uncertainty too. */
function standard(node: DccNode, value: string, refuse: Refuse) {
  return { is: 'standard' as const, values: words(refuse, demanded(refuse, node, value)), factors: ['1'] };
}

function expanded(node: DccNode, value: string, suffix: string, refuse: Refuse) {
  return {
    is: 'expanded' as const,
    values: words(refuse, demanded(refuse, node, value)),
    factors: words(refuse, demanded(refuse, node, `coverageFactor${suffix}`)),
  };
}

function words(refuse: Refuse, node: DccNode): string[] {
  const found = textOf(refuse, node)
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
