import { z } from 'zod';
import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { readStrictXml } from '../base/strict-xml.js';
import { conversion } from '../base/units.js';
import { ucumOfDsi } from './dcc-units.js';
import { SignatureFault, verifyXmlSignatures } from './xml-signature.js';

/** One value of a certificate, as it is written there. */
const CertifiedReading = z.strictObject({
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

/** A signature over a certificate, which holds. Whether its signer is trusted is no fact of the file. */
const CertificateSignature = z.strictObject({
  certificateSha256: z.string().describe('SHA-256 of the certificate (X.509) whose key made it'),
  subject: z.string(),
  issuer: z.string(),
  validFrom: z.string(),
  validTo: z.string(),
  issuedBySha256: z.array(z.string()).describe('of the certificates beside it that issued it, the nearest first'),
  signedAt: z.string().nullable().describe('as the signer says under the signature; null where it does not'),
});

/** A digital calibration certificate, as far as it is read. */
export const CalibrationCertificate = z.strictObject({
  version: z.string(),
  identifier: z.string(),
  begins: z.string().describe('first day of the calibration'),
  ends: z.string(),
  laboratory: z.string(),
  identifications: z.array(z.string()).describe('numbers by which it knows what was calibrated, whoever gave them'),
  conformity: z.array(z.string()).describe('what its statements say of conforming, in their order'),
  recalibrateBy: z.string().nullable().describe('the earliest day by which it wants the next calibration'),
  signatures: z.array(CertificateSignature).describe('that hold, each over all of it; none where nobody signed it'),
  readings: z.array(CertifiedReading),
});
export type CalibrationCertificate = z.infer<typeof CalibrationCertificate>;

interface Node {
  readonly name: string;
  readonly line: number;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: Node[];
  text: string;
}

const DCC = 'https://ptb.de/dcc';
const SI = 'https://ptb.de/si';
const SIGNATURE = 'http://www.w3.org/2000/09/xmldsig#';
const VERSION = /^(?:2\.[34]|3\.[0-4])\.\d+(?:-[\w.]+)?$/;
const DAY = /^\d{4}-\d\d-\d\d$/;
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;
/** What is not read holds pictures and papers in base 64. */
const NOT_READ = new Set(['document', 'byteData', 'byteDataBlock', 'dataBase64', 'file', 'measurementMetaData']);
/** Of two forms of one value each is rounded by itself. */
const ROUNDED = 1.000001;

/** So much of a file tells whether it is one. */
export const DCC_HEAD = 4096;

/** Whether the beginning of a file is that of a digital calibration certificate. */
export const isDcc = (bytes: Buffer): boolean =>
  /<(?:\w+:)?digitalCalibrationCertificate[\s>]/.test(bytes.toString('utf8', 0, DCC_HEAD));

/**
 * Reads a digital calibration certificate (DCC of the Physikalisch-Technische Bundesanstalt, versions 2.3 to 3.4, with values
 * by D-SI), and verifies its signatures, where it has any.
 * @throws BadInputError with the line for what is none or no well-formed XML, for what each has to say and this does not, for
 *   lists of different lengths, for two forms of one value that differ, and for a signature that does not hold.
 */
export function readDcc(file: string, bytes: Uint8Array): CalibrationCertificate {
  const remedy = 'ask the laboratory for a certificate as its schema has it, or attach its PDF';
  const refuse = (line: number, found: string, expected: string): never => {
    throw new BadInputError([{ code: 'dcc', file, line, found, expected, remedy }]);
  };
  const { root, signatureLine } = treeOf(bytes, refuse);
  const told = toldIn(root, refuse);
  if (signatureLine === null) return { ...told, signatures: [] };
  const distrust = (found: string, expected: string): never => {
    const again = 'ask the laboratory for the certificate as it signed it: this one is not to be relied on';
    throw new BadInputError([{ code: 'dcc-signature', file, line: signatureLine, found, expected, remedy: again }]);
  };
  try {
    const signatures = verifyXmlSignatures(utf8Of(bytes)).map(({ signed, ...signature }) => {
      // Two readers of XML may see two documents in one file: what was signed has to say what is read here.
      const other = toldIn(treeOf(Buffer.from(signed), refuse).root, refuse);
      if (withoutLines(other) !== withoutLines(told)) distrust('other values than those that were signed', 'the same');
      return signature;
    });
    return { ...told, signatures };
  } catch (error) {
    if (error instanceof SignatureFault) return distrust(error.found, error.expected);
    throw error;
  }
}

const utf8Of = (bytes: Uint8Array): string => new TextDecoder('utf-8', { fatal: true }).decode(bytes);

const withoutLines = (told: Told): string =>
  JSON.stringify({ ...told, readings: told.readings.map(({ line: _, ...reading }) => reading) });

type Told = Omit<CalibrationCertificate, 'signatures'>;

function toldIn(root: Node, refuse: Refuse): Told {
  const find = (from: Node, ...path: readonly string[]): Node | undefined =>
    path.reduce<Node | undefined>((at, name) => at?.children.find((child) => child.name === name), from);
  const all = (from: Node | undefined, ...path: readonly string[]): Node[] =>
    from === undefined
      ? []
      : path.reduce(
          (nodes, name) => nodes.flatMap(({ children }) => children.filter((child) => child.name === name)),
          [from],
        );
  const demanded = (from: Node, ...path: readonly string[]): Node =>
    find(from, ...path) ?? refuse(from.line, `no ${path.join('/')}`, `${path.join('/')} in ${from.name}`);
  const text = (node: Node | undefined) => node?.text.trim() ?? '';
  const nameOf = (node: Node | undefined) => text(all(node, 'name', 'content')[0]) || (node?.attributes.refType ?? '');
  const day = (node: Node) =>
    DAY.test(text(node)) ? text(node) : refuse(node.line, text(node) || 'nothing', 'a day as YYYY-MM-DD');

  const version = root.attributes.schemaVersion ?? '';
  if (!VERSION.test(version)) refuse(root.line, `schemaVersion "${version}"`, 'a version from 2.3 to 3.4');
  const data = demanded(root, 'administrativeData');
  const core = demanded(data, 'coreData');
  const items = all(data, 'items', 'item');
  if (items.length === 0) refuse(data.line, 'no item', 'what was calibrated');
  const statements = all(data, 'statements', 'statement');
  return {
    version,
    identifier: text(demanded(core, 'uniqueIdentifier')),
    begins: day(demanded(core, 'beginPerformanceDate')),
    ends: day(demanded(core, 'endPerformanceDate')),
    laboratory: nameOf(demanded(data, 'calibrationLaboratory', 'contact')),
    identifications: items.flatMap((item) => all(item, 'identifications', 'identification', 'value').map(text)),
    conformity: statements.flatMap((one) => all(one, 'conformity').map(text)).filter((one) => one !== ''),
    recalibrateBy:
      statements
        .filter(({ attributes }) => /recalibration/i.test(attributes.refType ?? ''))
        .flatMap((one) => all(one, 'date').map(day))
        .sort()[0] ?? null,
    readings: all(root, 'measurementResults', 'measurementResult', 'results', 'result').flatMap((result) =>
      quantitiesOf(find(result, 'data')).flatMap((quantity) => readingsOf(quantity, nameOf(result), nameOf(quantity))),
    ),
  };

  function quantitiesOf(node: Node | undefined): Node[] {
    return (node?.children ?? []).flatMap((child) =>
      child.name === 'quantity' ? [child] : child.name === 'list' ? quantitiesOf(child) : [],
    );
  }

  function readingsOf(quantity: Node, result: string, name: string): CertifiedReading[] {
    const hybrid = find(quantity, 'hybrid');
    const forms = (hybrid ?? quantity).children.filter(({ name: one }) =>
      /^(?:real|constant|realList|realListXMLList)$/.test(one),
    );
    const [first, ...others] = forms.map((form) => valuesOf(form));
    if (first === undefined) return [];
    for (const other of others) compare(first, other);
    return first.map((one, index) => ({ result, quantity: name, place: index + 1, ...one }));
  }

  type Value = Omit<CertifiedReading, 'result' | 'quantity' | 'place'>;

  function valuesOf(form: Node): Value[] {
    if (form.name === 'realList') return all(form, 'real').flatMap(valuesOf);
    const isList = form.name === 'realListXMLList';
    const suffix = isList ? 'XMLList' : '';
    const values = words(demanded(form, `value${suffix}`));
    const units = words(demanded(form, `unit${suffix}`));
    if (!isList && values.length !== 1) refuse(form.line, `${values.length} values in one`, 'one value');
    const spread = spreadOf(form, suffix);
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
  function spreadOf(form: Node, suffix: string) {
    const older = find(form, `expandedUnc${suffix}`);
    if (older) return expanded(older, `uncertainty${suffix}`, suffix);
    const newer = find(form, `measurementUncertaintyUnivariate${suffix}`);
    const wide = newer && find(newer, `expandedMU${suffix}`);
    if (wide) return expanded(wide, `valueExpandedMU${suffix}`, suffix);
    const standard = newer && find(newer, `standardMU${suffix}`);
    return (
      standard && {
        is: 'standard' as const,
        values: words(demanded(standard, `valueStandardMU${suffix}`)),
        factors: ['1'],
      }
    );
  }

  function expanded(node: Node, value: string, suffix: string) {
    return {
      is: 'expanded' as const,
      values: words(demanded(node, value)),
      factors: words(demanded(node, `coverageFactor${suffix}`)),
    };
  }

  function words(node: Node): string[] {
    const found = text(node)
      .split(/\s+/)
      .filter((word) => word !== '');
    return found.length > 0 ? found : refuse(node.line, 'nothing', `what ${node.name} has to say`);
  }

  /** Two forms of one value say the same, each rounded by itself. */
  function compare(first: readonly Value[], other: readonly Value[]): void {
    if (first.length !== other.length)
      refuse(other[0]?.line ?? 1, `${other.length} values in one form, ${first.length} in another`, 'as many in each');
    first.forEach((one, index) => {
      const two = other[index]!;
      if (one.ucum === null || two.ucum === null) return;
      const { factor, offset } = conversionBetween(two, one.ucum);
      const apart = Math.abs(Number(two.value) * factor + offset - Number(one.value));
      if (apart <= ROUNDED * (lastPlace(one.value) + lastPlace(two.value) * factor)) return;
      refuse(two.line, `${two.value} ${two.unit} for ${one.value} ${one.unit}`, 'the same value in both units');
    });
  }

  function conversionBetween(from: Value, to: string) {
    try {
      return conversion(from.ucum!, to);
    } catch {
      return refuse(from.line, `a value in ${from.unit} and in another sort of unit`, 'two units of one sort');
    }
  }
}

/** One in the last decimal that is written. */
function lastPlace(text: string): number {
  const [, decimals = '', exponent = '0'] = /^[+-]?\d*\.?(\d*)(?:[eE]([+-]?\d+))?$/.exec(text) ?? [];
  return 10 ** (Number(exponent) - decimals.length);
}

type Refuse = (line: number, found: string, expected: string) => never;

/** All that is read of the file, with what belongs to DCC and D-SI alone. */
function treeOf(bytes: Uint8Array, refuse: Refuse): { readonly root: Node; readonly signatureLine: number | null } {
  if (bytes.length > MOST.certificateBytes)
    refuse(1, `more than ${MOST.certificateBytes} bytes`, `at most ${MOST.certificateBytes}`);
  let root: Node | undefined;
  let signatureLine: number | null = null;
  let [nodes, depth, passed] = [0, 0, Number.POSITIVE_INFINITY];
  const open: Node[] = [];
  readStrictXml(bytes, {
    root: 'digitalCalibrationCertificate',
    namespaces: [DCC],
    expected: `a digitalCalibrationCertificate of ${DCC}`,
    refuse,
    enter: ({ local, uri, attributes }, line) => {
      depth += 1;
      if (depth === 2 && uri === SIGNATURE && local === 'Signature') signatureLine ??= line;
      if (depth > passed) return;
      if ((uri !== DCC && uri !== SI) || NOT_READ.has(local)) {
        passed = depth;
        return;
      }
      nodes += 1;
      if (nodes > MOST.documentValues) refuse(line, `more than ${MOST.documentValues} elements`, 'fewer');
      const told = Object.fromEntries(Object.values(attributes).map((one) => [one.local, one.value]));
      const node: Node = { name: local, line: line, attributes: told, children: [], text: '' };
      open.at(-1)?.children.push(node);
      root ??= node;
      open.push(node);
    },
    text: (text) => {
      const at = open.at(-1);
      if (at && depth < passed) at.text += text;
    },
    leave: () => {
      if (depth < passed) open.pop();
      if (depth === passed) passed = Number.POSITIVE_INFINITY;
      depth -= 1;
    },
  });
  return { root: root!, signatureLine };
}
