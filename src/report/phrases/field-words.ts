import { beginningSmall, capital } from './capital.js';

/** Units that names of fields end with, and how people write them. The longer ones come first. */
const UNITS: readonly (readonly [ending: string, unit: string])[] = [
  ['GPerCm3', 'g/cm³'],
  ['MlPerMin', 'ml/min'],
  ['Percent', '%'],
  ['Weeks', 'weeks'],
  ['Hours', 'hours'],
  ['Days', 'days'],
  ['Cm2', 'cm²'],
  ['Mm4', 'mm⁴'],
  ['Mm3', 'mm³'],
  ['Mm2', 'mm²'],
  ['Mm', 'mm'],
  ['Um', 'µm'],
  ['Ms', 'ms'],
  ['Ml', 'ml'],
  ['H', 'h'],
  ['S', 's'],
  ['G', 'g'],
  ['C', '°C'],
];

/** Fields of documents whose names are no words. */
const WORDS: Readonly<Record<string, { readonly label: string; readonly unit?: string }>> = {
  as: { label: 'What becomes of it' },
  at: { label: 'When' },
  by: { label: 'Who' },
  classEu: { label: 'Class in the EU' },
  csv: { label: 'CSV' },
  from: { label: 'From' },
  is: { label: 'What it is' },
  k: { label: 'Factor k' },
  kPa: { label: 'Pressure', unit: 'kPa' },
  n: { label: 'Number' },
  of: { label: 'Of what' },
  pH: { label: 'pH' },
  says: { label: 'What it says' },
  xml: { label: 'XML' },
  sd: { label: 'Standard deviation' },
  sha256: { label: 'SHA-256' },
  to: { label: 'To' },
  uAPerCm2: { label: 'Current density', unit: 'µA/cm²' },
  ucum: { label: 'Unit' },
  udiDi: { label: 'UDI-DI' },
};

/** What a field is called in one kind alone. */
const OF_KIND: Readonly<Record<string, string>> = {
  'risk-control by': 'How it controls',
  'design-study n': 'Tested',
};

/**
 * `massG` is the mass in grams: what a form calls a field of a document, and the unit that stands beside it.
 * @param kind of the document, for a field of its own.
 */
export function fieldText(name: string, kind?: string): { readonly label: string; readonly unit?: string } {
  const own = OF_KIND[`${kind} ${name}`];
  if (own !== undefined) return { label: own };
  if (Object.hasOwn(WORDS, name)) return WORDS[name]!;
  const found = UNITS.find(([ending]) => name.endsWith(ending) && /[a-z]$/.test(name.slice(0, -ending.length)));
  const words = (found ? name.slice(0, -found[0].length) : name).replaceAll(
    /([a-z\d])([A-Z])/g,
    (_, end: string, begin: string) => `${end} ${begin.toLowerCase()}`,
  );
  return { label: capital(words), ...(found ? { unit: found[1] } : {}) };
}

/** `parameters[1].min` is called *Parameters 2, min*: the place of a value in a document. */
export const placeText = (path: string): string =>
  path
    .split('.')
    .map((step, index) => {
      const [, name, places] = /^([^[]*)((?:\[\d+\])*)$/.exec(step) ?? [undefined, step, ''];
      const numbers = [...places!.matchAll(/\d+/g)].map(([place]) => ` ${Number(place) + 1}`);
      const { label, unit } = fieldText(name!);
      const shown = index === 0 ? label : beginningSmall(label);
      return `${shown}${numbers.join('')}${unit === undefined ? '' : ` (${unit})`}`;
    })
    .join(', ');

/** What says no more than what everybody sees in the field itself. */
const SAYS_NOTHING: ReadonlySet<string> = new Set(['identifier', 'text', 'decimal number', 'whole number']);
const WHAT_IS_TYPED: Readonly<Record<string, string>> = {
  unit: 'As a UCUM code, such as MPa, um, [ppm] or %.',
  file: 'Name of a file. Choose the file itself at the end of the form.',
};

/** Help beside a field: what its schema says of it, and how it is typed where that is not plain. */
export function fieldHelp(described: string | undefined, sense: string | undefined): string | undefined {
  const isTyped = sense !== undefined && Object.hasOwn(WHAT_IS_TYPED, sense);
  const typed = isTyped ? WHAT_IS_TYPED[sense] : undefined;
  const isGeneric =
    described === undefined ||
    SAYS_NOTHING.has(described) ||
    (sense === 'moment' && described.startsWith('date and time')) ||
    (isTyped && /^(?:unit of measure|path of a file)/.test(described));
  const said = isGeneric ? undefined : `${capital(described)}.`;
  return [said, typed].filter((text) => text !== undefined).join(' ') || undefined;
}
