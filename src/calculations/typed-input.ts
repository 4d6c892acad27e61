import { z } from 'zod';
import { parseDecimal } from '../statistics/inputs.js';
import type { AnyCalculation } from './calculation.js';
import { type CalcField, type CalcShape, calcShape } from './calculation-shape.js';

/** What stands in a form, by the places of its fields: `distribution.parameters.mean`; of several ticks all of them. */
export type TypedCalc = Readonly<Record<string, string | readonly string[]>>;

/** Why a field cannot be read. */
export type CalcFault =
  | { readonly code: 'missing' }
  /** The form has no such field, or has it no more. */
  | { readonly code: 'unknown'; readonly name: string }
  | { readonly code: 'no number' | 'no whole number' | 'no json' | 'no choice'; readonly found: string }
  | { readonly code: 'few columns'; readonly row: number; readonly columns: readonly string[] }
  /** What the calculation itself says of it. */
  | { readonly code: 'refused'; readonly says: string };

export interface WrongField {
  /** Place of the field; empty where the whole input is to blame. */
  readonly place: string;
  readonly fault: CalcFault;
}

export interface ReadInput {
  /** As JSON would give it; undefined where something cannot be read. */
  readonly input: unknown;
  readonly wrong: readonly WrongField[];
}

export const placeOf = (within: string, name: string): string => (within === '' ? name : `${within}.${name}`);

const textAt = (typed: TypedCalc, place: string): string => {
  const text = typed[place] ?? '';
  return (typeof text === 'string' ? text : text.join(' ')).trim();
};

/**
 * The input of a calculation from what was typed: a comma counts as a decimal mark, values stand apart by blanks or lines.
 * All that is wrong at once, by the places of the fields.
 */
export function readInput(calculation: AnyCalculation, typed: TypedCalc): ReadInput {
  const wrong: WrongField[] = [];
  const places = new Set(placesIn(calcShape(calculation), ''));
  for (const [name, text] of Object.entries(typed)) {
    if (places.has(name) || text.length === 0 || name.startsWith(':')) continue;
    wrong.push({ place: name, fault: { code: 'unknown', name } });
  }
  const input = readShape(calcShape(calculation), '', typed, wrong);
  if (wrong.length > 0) return { input: undefined, wrong };
  const parsed = calculation.input.safeParse(input);
  if (parsed.success) return { input, wrong: [] };
  return { input: undefined, wrong: refused(parsed.error, calculation) };
}

/** What the schema refuses, at the nearest field that the form has; one thing a field. */
function refused(error: z.ZodError, calculation: AnyCalculation): WrongField[] {
  const places = new Set(placesIn(calcShape(calculation), ''));
  const found = new Map<string, WrongField>();
  for (const { path, message } of error.issues) {
    const names = path.map(String);
    while (names.length > 0 && !places.has(names.join('.'))) names.pop();
    const place = names.join('.');
    if (!found.has(place)) found.set(place, { place, fault: { code: 'refused', says: message } });
  }
  return [...found.values()];
}

function placesIn(shape: CalcShape, within: string): string[] {
  const inside = (fields: readonly CalcField[]) =>
    fields.flatMap(({ name, shape: inner }) => [placeOf(within, name), ...placesIn(inner, placeOf(within, name))]);
  if (shape.is === 'group') return inside(shape.fields);
  return shape.is === 'variants' ? inside([shape.by, ...shape.variants.flatMap(({ fields }) => fields)]) : [];
}

function readFields(fields: readonly CalcField[], within: string, typed: TypedCalc, wrong: WrongField[]) {
  const found: Record<string, unknown> = {};
  for (const { name, shape, mayMiss } of fields) {
    const place = placeOf(within, name);
    if (mayMiss && isEmpty(shape, place, typed)) continue;
    found[name] = readShape(shape, place, typed, wrong);
  }
  return found;
}

/** Whether nothing was typed at a place or below it. */
function isEmpty(shape: CalcShape, place: string, typed: TypedCalc): boolean {
  return [place, ...placesIn(shape, place)].every((one) => textAt(typed, one) === '');
}

function readShape(shape: CalcShape, place: string, typed: TypedCalc, wrong: WrongField[]): unknown {
  const blame = (fault: CalcFault): undefined => {
    wrong.push({ place, fault });
  };
  if (shape.is === 'group') return readFields(shape.fields, place, typed, wrong);
  if (shape.is === 'variants') {
    const chosen = shape.variants.find(({ value }) => value === textAt(typed, placeOf(place, shape.by.name)));
    if (!chosen) {
      wrong.push({ place: placeOf(place, shape.by.name), fault: { code: 'missing' } });
      return undefined;
    }
    return { [shape.by.name]: chosen.value, ...readFields(chosen.fields, place, typed, wrong) };
  }
  const text = textAt(typed, place);
  if (shape.is === 'ticks') {
    const ticked = text === '' ? [] : text.split(' ');
    const other = ticked.find((one) => !shape.options.includes(one));
    return other === undefined ? ticked : blame({ code: 'no choice', found: other });
  }
  if (text === '') return blame({ code: 'missing' });
  switch (shape.is) {
    case 'number':
    case 'whole': {
      const value = parseDecimal(withPoint(text));
      if (value === undefined) return blame({ code: 'no number', found: text });
      if (shape.is === 'whole' && !Number.isInteger(value)) return blame({ code: 'no whole number', found: text });
      return value;
    }
    case 'text':
      return withPoint(text);
    case 'yes or no':
      return text === 'yes' ? true : text === 'no' ? false : blame({ code: 'no choice', found: text });
    case 'choice': {
      const chosen = shape.options.find((option) => String(option) === text);
      return chosen ?? blame({ code: 'no choice', found: text });
    }
    case 'json':
      try {
        return JSON.parse(text);
      } catch {
        return blame({ code: 'no json', found: text });
      }
    case 'list': {
      const bad: string[] = [];
      const values = readList(text, shape.depth, bad);
      return bad.length === 0 ? values : blame({ code: 'no number', found: bad[0]! });
    }
    case 'rows':
      return readRows(shape.columns, text, blame);
  }
}

/** A number with a comma as its decimal mark, or a true minus sign, as a program writes it; all else as it is. */
function withPoint(text: string): string {
  const written = text.replace('−', '-').replace(/^([<>]?\s*[+-]?\d*),(\d+)/, '$1.$2');
  return parseDecimal(written.replace(/^[<>]\s*/, '')) === undefined ? text : written;
}

const wordsIn = (text: string): string[] =>
  text
    .split(/[\s;]+/)
    .map((word) => word.replace(/,$/, ''))
    .filter(Boolean);

/** Lines part groups, empty lines groups of groups; a single list may run over lines. */
function readList(text: string, depth: number, bad: string[]): unknown[] {
  if (depth > 1) {
    const parts = depth === 2 ? text.split(/\r?\n/) : text.split(/(?:\r?\n\s*){2,}/);
    return parts.filter((part) => part.trim() !== '').map((part) => readList(part, depth - 1, bad));
  }
  return wordsIn(text.replaceAll(/([<>])\s+/g, '$1')).map((word) => {
    const written = withPoint(word);
    const value = parseDecimal(written);
    if (value !== undefined) return value;
    // Only the limit is known that it lies below or above.
    if (!/^[<>]/.test(written) || parseDecimal(written.slice(1)) === undefined) bad.push(word);
    return written;
  });
}

function readRows(columns: readonly CalcField[], text: string, blame: (fault: CalcFault) => undefined): unknown {
  const needed = columns.filter(({ mayMiss }) => !mayMiss).length;
  const rows: Record<string, unknown>[] = [];
  const lines = text.split(/\r?\n/).filter((line) => line.trim() !== '');
  for (const [index, line] of lines.entries()) {
    const words = wordsIn(line);
    if (words.length < needed || words.length > columns.length) {
      return blame({ code: 'few columns', row: index + 1, columns: columns.map(({ name }) => name) });
    }
    const row: Record<string, unknown> = {};
    for (const [at, word] of words.entries()) {
      const { name, shape } = columns[at]!;
      const value = shape.is === 'number' || shape.is === 'whole' ? parseDecimal(withPoint(word)) : word;
      if (value === undefined) return blame({ code: 'no number', found: word });
      row[name] = value;
    }
    rows.push(row);
  }
  return rows;
}

/** What a form shows of an input. */
export function textsOf(calculation: AnyCalculation, input: unknown): TypedCalc {
  const texts: Record<string, string | readonly string[]> = {};
  write(calcShape(calculation), '', input, texts);
  return texts;
}

function write(
  shape: CalcShape,
  place: string,
  value: unknown,
  texts: Record<string, string | readonly string[]>,
): void {
  if (value === undefined || value === null) return;
  const fields = value as Readonly<Record<string, unknown>>;
  const inside = (inner: readonly CalcField[]) => {
    for (const { name, shape: next } of inner) write(next, placeOf(place, name), fields[name], texts);
  };
  if (shape.is === 'group') inside(shape.fields);
  else if (shape.is === 'variants') {
    const chosen = String(fields[shape.by.name]);
    texts[placeOf(place, shape.by.name)] = chosen;
    inside(shape.variants.find((one) => one.value === chosen)?.fields ?? []);
  } else if (shape.is === 'ticks') texts[place] = value as readonly string[];
  else if (shape.is === 'list') texts[place] = listText(value as readonly unknown[], shape.depth);
  else if (shape.is === 'rows') {
    const rows = value as readonly Readonly<Record<string, unknown>>[];
    texts[place] = rows.map((row) => shape.columns.flatMap(({ name }) => row[name] ?? []).join('  ')).join('\n');
  } else if (shape.is === 'yes or no') texts[place] = value === true ? 'yes' : 'no';
  else texts[place] = shape.is === 'json' ? JSON.stringify(value) : String(value);
}

function listText(list: readonly unknown[], depth: number): string {
  if (depth === 1) return list.join(' ');
  return list.map((inner) => listText(inner as readonly unknown[], depth - 1)).join(depth === 2 ? '\n' : '\n\n');
}
