import { type Answer, type AnyCalculation, runCalculation } from './calculation.js';
import { type InputFields, inputFields } from './calculation-fields.js';
import { FAMILY_FORMULAS } from './family-formulas.js';

/** Digits shown in generated documents: engines differ in the last ones of a double. */
const DIGITS = 10;

/** A worked example as it is kept in `docs/calculations/NAME.json`. */
export interface ExampleDocument {
  readonly calculation: string;
  readonly input: unknown;
  readonly output: Answer;
}

/** The example of a calculation with its computed output, numbers to ten significant digits. */
export function exampleDocument(calculation: AnyCalculation): ExampleDocument {
  const output = runCalculation(calculation, calculation.example.input);
  return { calculation: calculation.name, input: calculation.example.input, output: roundedNumbers(output) as Answer };
}

/** The whole of `docs/formulas.md`: every calculation with fields, formula, source and a worked example. */
export function formulasDocument(calculations: readonly AnyCalculation[]): string {
  const contents = calculations.map(({ name, purpose }) => `- [${name}](#${name}): ${purpose}`);
  const parts = [
    '# Formulas',
    'Made from the calculations themselves; do not edit. Each section holds what is needed to work the calculation by hand.',
    'On the command line: `echo JSON | npx lotwright calc NAME`. The command prints all digits; here numbers are cut to ' +
      `${DIGITS} significant ones. An unknown, missing or ill-typed field is refused. A year is 365 days (8760 h).`,
    [...contents, '- [family](#family): What is said of a family over its builds, made of these'].join('\n'),
    ...calculations.map(calculationSection),
    FAMILY_FORMULAS,
  ];
  return `${parts.join('\n\n')}\n`;
}

function calculationSection(calculation: AnyCalculation): string {
  const { name, purpose, output, formula, source, example } = calculation;
  const shown = exampleDocument(calculation);
  return [
    `## ${name}`,
    `${purpose}.`,
    '### Input',
    ...inputFields(calculation).map(inputTable),
    '### Output',
    outputTable(output),
    '### Formula',
    fenced(formula, 'text'),
    `Source: ${source}.`,
    '### Worked example',
    `From: ${example.source}.`,
    fenced(jsonText(shown.input), 'json'),
    example.steps.map((step, i) => `${i + 1}. ${step}`).join('\n'),
    'Result:',
    fenced(jsonText(shown.output), 'json'),
  ].join('\n\n');
}

function inputTable(fields: InputFields): string {
  const rows = fields.map(({ name, type, required, default: standard, meaning }) => {
    const need = required ? 'yes' : standard === undefined ? 'no' : `no, else ${standard}`;
    return `| \`${name}\` | ${cell(type)} | ${cell(need)} | ${cell(meaning)} |`;
  });
  return ['| field | type | needed | meaning |', '|---|---|---|---|', ...rows].join('\n');
}

function outputTable(output: Readonly<Record<string, string>>): string {
  const rows = Object.entries(output).map(([name, meaning]) => `| \`${name}\` | ${cell(meaning)} |`);
  const common = ['| `method`, `source`, `notes` | what was computed, where it is published, conditions |'];
  return ['| field | meaning |', '|---|---|', ...rows, ...common].join('\n');
}

function cell(text: string): string {
  return text.replaceAll('|', '\\|');
}

function fenced(text: string, language: string): string {
  return `\`\`\`${language}\n${text}\n\`\`\``;
}

/** JSON with lists of plain values on one line, so that data stays readable. */
export function jsonText(value: unknown, indent = ''): string {
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  const inner = `${indent}  `;
  if (Array.isArray(value)) {
    if (value.every((entry) => entry === null || typeof entry !== 'object')) {
      return `[${value.map((entry) => JSON.stringify(entry)).join(', ')}]`;
    }
    return `[\n${value.map((entry) => inner + jsonText(entry, inner)).join(',\n')}\n${indent}]`;
  }
  const entries = Object.entries(value).map(
    ([key, entry]) => `${inner}${JSON.stringify(key)}: ${jsonText(entry, inner)}`,
  );
  return entries.length === 0 ? '{}' : `{\n${entries.join(',\n')}\n${indent}}`;
}

function roundedNumbers(value: unknown): unknown {
  if (typeof value === 'number') return Number.isInteger(value) ? value : Number(value.toPrecision(DIGITS));
  if (Array.isArray(value)) return value.map(roundedNumbers);
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([key, entry]) => [key, roundedNumbers(entry)]));
}
