/**
 * How the trade writes a unit of measure whose UCUM code is plain ASCII: `um` is µm, `[ppm]` is ppm, `mm/a` is mm/year.
 * A code of which a part is not known here comes back as it is: a wrong sign is worse than an unusual one.
 */
export function tradeUnit(ucum: string): string {
  return ucum
    .split(/([/.])/)
    .map((piece) => (piece === '.' ? '·' : piece === '/' ? '/' : tradePiece(piece)))
    .join('');
}

/** The unit behind a number: ` mm`; nothing where it has none. */
export const spacedUnit = (ucum: string): string => (ucum === '1' ? '' : ` ${tradeUnit(ucum)}`);

/** The unit behind what it is of: ` /mm`; nothing where it has none, as a ratio or a number on a scale. */
export const perUnit = (ucum: string): string => (ucum === '1' ? '' : ` /${tradeUnit(ucum)}`);

const NAMES: Readonly<Record<string, string>> = {
  a: 'year',
  d: 'day',
  wk: 'week',
  Cel: '°C',
  '[degF]': '°F',
  deg: '°',
  Ohm: 'Ω',
  '[ppm]': 'ppm',
  '[ppb]': 'ppb',
  '[psi]': 'psi',
  '[in_i]': 'in',
  '[mil_i]': 'mil',
  '[pH]': 'pH',
};

/** `u` is a prefix only before these: alone it is the atomic mass unit. */
const MICRO = /^u(?=(?:m|g|L|l|s|A|V|W|J|N|Pa|mol|Hz|C)$)/;
const PIECE = /^([A-Za-z%_[\]]*)([+-]?\d+)?(\{[^}]*\})?$/;

function tradePiece(piece: string): string {
  const match = PIECE.exec(piece);
  if (!match) return piece;
  const [, symbol = '', power = '', note = ''] = match;
  const name = NAMES[symbol] ?? symbol.replace(MICRO, 'µ');
  const shown = symbol === '' ? power : name + superscript(power);
  return note === '' ? shown : `${shown} ${note.slice(1, -1)}`.trim();
}

const SUPERSCRIPTS = '⁰¹²³⁴⁵⁶⁷⁸⁹';

function superscript(power: string): string {
  return Array.from(power, (sign) => (sign === '-' ? '⁻' : sign === '+' ? '' : SUPERSCRIPTS[Number(sign)])).join('');
}
