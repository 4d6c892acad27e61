import { createRequire } from 'node:module';
import { type Decimal, decimalText, parseDecimal } from './decimal.js';
import { AppError } from './errors.js';
import { nearUnits, type UnitAtom, unitFault } from './unit-code.js';

/**
 * Units of measure by their UCUM codes (Unified Code for Units of Measure). Everything is converted once, at intake,
 * and both forms are kept.
 *
 * A pitfall that no unit library sees: `%` and `[ppm]` are bare numbers and say nothing of their basis. Oxygen in argon
 * is meant by volume, a trace element in a powder by mass, and 1 ppm of water by volume in argon is 0.45 ppm by mass.
 * Where both codes say a basis (`[ppm]{vol}`, `mL/L`, `mg/kg`, `mol/mol`), different bases are refused; where one says
 * none, the other is believed. State the basis in the name of the characteristic or channel.
 */
export interface Conversion {
  /** Value in the wanted unit = value × factor + offset. */
  readonly factor: number;
  readonly offset: number;
}

/** A factor with at most this many digits is taken as exactly that decimal: 25.4, 0.0001, 273.15. */
const EXACT_DIGITS = 9;
/** Other factors, and results that go through them, carry this many digits. */
const RESULT_DIGITS = 12;
/** What double arithmetic inside the unit library may leave behind, relative. */
const NOISE = 1e-13;
const LONGEST_CODE = 60;

/** True for a code that UCUM knows, written as UCUM writes it: `MPa`, not `Mpa`; `[psi]`, not `psi`; no `kmin`. */
export function isUnit(ucum: string): boolean {
  return describeUnit(ucum) !== undefined;
}

/**
 * What was expected instead of a code that is none, with what may be meant.
 * @param examples codes of the kind that belongs there.
 */
export function expectedUnit(code: string, examples: string): string {
  const noPrefix = code.length > LONGEST_CODE ? undefined : unitFault(code, atomOf)?.noPrefix;
  const why = noPrefix === undefined ? '' : ` (${noPrefix} takes no prefix)`;
  const near = nearUnits(code);
  return `a UCUM code such as ${examples}${why}${near.length === 0 ? '' : `; did you mean ${near.join(' or ')}?`}`;
}

/**
 * Factor and offset from one unit to another. Temperatures have an offset; logarithmic units (`dB`, `[pH]`) have no
 * such form and convert to themselves only.
 * @throws AppError BAD_INPUT naming the unit when a code is unknown or the two do not measure the same thing.
 */
export function conversion(from: string, to: string): Conversion {
  const { factor, offset } = findConversion(from, to);
  return { factor: Number(factor.text), offset: Number(offset.text) };
}

/**
 * Converts a reported decimal and returns decimal text. The value comes back as it was written when the units are the
 * same; the result is exact when factor and offset are short decimals (25.4, 0.001, 273.15) and has 12 significant
 * digits otherwise.
 * @throws AppError BAD_INPUT naming the unit, as `conversion`; CalculationError when the value is no decimal.
 */
export function convert(valueText: string, from: string, to: string): string {
  return applyConversion(valueText, from, to, findConversion(from, to));
}

/**
 * Converts a difference or a standard uncertainty: as `convert`, but without the offset of a temperature scale.
 * @throws AppError and CalculationError as `convert`.
 */
export function convertDifference(valueText: string, from: string, to: string): string {
  return applyConversion(valueText, from, to, { factor: findConversion(from, to).factor, offset: NONE });
}

function applyConversion(valueText: string, from: string, to: string, { factor, offset }: ExactConversion): string {
  const value = parseDecimal(valueText);
  if (from === to) return valueText;
  const scaled = multiply(value, parseDecimal(factor.text));
  const sum = add(scaled, parseDecimal(offset.text));
  if (factor.isExact && offset.isExact) return withoutEmptyDecimals(decimalText(sum), valueText);
  const largest = Math.max(Math.abs(Number(decimalText(scaled))), Math.abs(Number(offset.text)));
  return roundedTo(Number(decimalText(sum)), largest);
}

interface Factor {
  readonly text: string;
  readonly isExact: boolean;
}

interface ExactConversion {
  readonly factor: Factor;
  readonly offset: Factor;
}

const ONE: Factor = { text: '1', isExact: true };
const NONE: Factor = { text: '0', isExact: true };
const known = new Map<string, ExactConversion>();

function findConversion(from: string, to: string): ExactConversion {
  const key = `${from} ${to}`;
  let found = known.get(key);
  if (found === undefined) {
    found = lookUp(from, to);
    known.set(key, found);
  }
  return found;
}

function lookUp(from: string, to: string): ExactConversion {
  const source = describeUnit(from) ?? refuseUnknown(from);
  const target = describeUnit(to) ?? refuseUnknown(to);
  if (from === to) return { factor: ONE, offset: NONE };
  const facts = { from, to };
  if (!isLinear(source) || !isLinear(target)) {
    throw new AppError('BAD_INPUT', `${from} cannot be converted to ${to}: no factor leads to or from it`, facts);
  }
  if (basisOf(from) !== basisOf(to) && basisOf(from) !== undefined && basisOf(to) !== undefined) {
    const bases = `${from} is by ${basisOf(from)}, ${to} by ${basisOf(to)}`;
    throw new AppError('BAD_INPUT', `${from} cannot be converted to ${to}: ${bases}`, facts);
  }
  const atZero = ucum().convertUnitTo(from, 0, to).toVal;
  const atOne = ucum().convertUnitTo(from, 1, to).toVal;
  if (atZero === null || atOne === null) {
    throw new AppError('BAD_INPUT', `${from} cannot be converted to ${to}: they do not measure the same thing`, facts);
  }
  const offset = Math.abs(atZero) < NOISE ? NONE : shortest(atZero);
  return { factor: shortest(offset === NONE ? atOne : slope(from, to, atZero)), offset };
}

/** Over a wide span, so that the offset's own rounding does not show in the factor. */
function slope(from: string, to: string, atZero: number): number {
  const span = 1_000_000;
  return (ucum().convertUnitTo(from, span, to).toVal! - atZero) / span;
}

function shortest(value: number): Factor {
  const short = value.toPrecision(EXACT_DIGITS);
  const isExact = Math.abs(Number(short) - value) <= NOISE * Math.abs(value);
  return { text: String(Number(isExact ? short : value.toPrecision(RESULT_DIGITS))), isExact };
}

/** What the code itself says a share is taken of; undefined where it says nothing of it, as `%` and `[ppm]` do. */
export function basisOf(code: string): 'mass' | 'volume' | 'amount of substance' | undefined {
  if (/\{(?:vol|v\/v|volume)[^}]*\}/i.test(code) || /^[a-zμ]?[lL]\/[a-z]?[lL]$/.test(code)) return 'volume';
  if (/\{(?:mass|m\/m|w\/w|wt|weight)[^}]*\}/i.test(code) || /^[a-z]{0,2}g\/[a-z]{0,2}g$/.test(code)) return 'mass';
  if (/^[a-z]?mol\/[a-z]?mol$/.test(code)) return 'amount of substance';
  return undefined;
}

function multiply(a: Decimal, b: Decimal): Decimal {
  return { coefficient: a.coefficient * b.coefficient, scale: a.scale + b.scale };
}

function add(a: Decimal, b: Decimal): Decimal {
  const scale = Math.max(a.scale, b.scale);
  const at = ({ coefficient, scale: own }: Decimal) => coefficient * 10n ** BigInt(scale - own);
  return { coefficient: at(a) + at(b), scale };
}

/** Twelve significant digits of the larger term: 32 degrees Fahrenheit are 0 degrees Celsius, not 3e-14. */
function roundedTo(value: number, largest: number): string {
  if (largest === 0) return '0';
  const magnitude = Number(largest.toExponential(0).split('e')[1]);
  const decimals = Math.min(100, Math.max(0, RESULT_DIGITS - 1 - magnitude));
  const significant = magnitude >= RESULT_DIGITS ? Number(value.toPrecision(RESULT_DIGITS)) : value;
  return withoutEmptyDecimals(significant.toFixed(decimals), '');
}

/** Drops zeros at the end that the conversion brought in; those that were reported (`0.10`) stay when they can. */
function withoutEmptyDecimals(text: string, reported: string): string {
  if (!text.includes('.')) return text;
  const trimmed = text.replace(/\.?0+$/, '');
  const wanted = significantDigits(reported);
  let shown = trimmed === '-0' ? '0' : trimmed;
  while (significantDigits(shown) < wanted && shown.length < text.length) shown = text.slice(0, shown.length + 1);
  return shown.endsWith('.') ? shown.slice(0, -1) : shown;
}

function significantDigits(text: string): number {
  const digits = text.toLowerCase().split('e')[0]!.replace(/[^\d]/g, '');
  return digits.replace(/^0+/, '').length;
}

/** What is used of the library, which brings no types. */
interface UcumLibrary {
  validateUnitString(code: string): { readonly status: string; readonly ucumCode: string | null };
  convertUnitTo(from: string, value: number, to: string): { readonly toVal: number | null };
  getSpecifiedUnit(code: string, purpose: 'validate'): { readonly unit: LibraryUnit | null };
}

interface LibraryUnit {
  readonly cnv_: string | null;
  readonly isMetric_: boolean;
  readonly isBase_: boolean;
}

/** As `LINEAR_FUNCTIONS`: a prefix before a scale with a zero of its own would say nothing. */
const WITH_OFFSET: ReadonlySet<string | null> = new Set(['Cel', 'degF', 'degRe']);

function atomOf(code: string): UnitAtom | undefined {
  const unit = tables().getUnitByCode(code);
  if (unit === null || unit === undefined) return undefined;
  return { takesPrefix: (unit.isMetric_ || unit.isBase_) && !WITH_OFFSET.has(unit.cnv_) };
}

const LINEAR_FUNCTIONS: ReadonlySet<string | null> = new Set([null, 'Cel', 'degF', 'degRe']);

function isLinear(unit: LibraryUnit): boolean {
  return LINEAR_FUNCTIONS.has(unit.cnv_);
}

function describeUnit(code: string): LibraryUnit | undefined {
  if (code.length === 0 || code.length > LONGEST_CODE) return undefined;
  if (unitFault(code, atomOf) !== undefined) return undefined;
  const { status, ucumCode } = ucum().validateUnitString(code);
  if (status !== 'valid' || ucumCode !== code) return undefined;
  return ucum().getSpecifiedUnit(code, 'validate').unit ?? undefined;
}

function refuseUnknown(code: string): never {
  const expected = expectedUnit(code, 'MPa, um, mm/s, %, [ppm] or mg/kg');
  throw new AppError('BAD_INPUT', `"${code}" is no UCUM code: expected ${expected}`, { unit: code });
}

interface UnitTables {
  getUnitByCode(code: string): LibraryUnit | null | undefined;
}

interface Package {
  readonly UcumLhcUtils: { getInstance(): UcumLibrary };
  readonly UnitTables: { getInstance(): UnitTables };
}

let library: Package | undefined;

/** The tables of the library are large, so they are read when a unit is first asked for. */
function loaded(): Package {
  library ??= createRequire(import.meta.url)('#ucum') as Package;
  return library;
}

const tables = (): UnitTables => {
  loaded().UcumLhcUtils.getInstance();
  return loaded().UnitTables.getInstance();
};

const ucum = (): UcumLibrary => loaded().UcumLhcUtils.getInstance();
