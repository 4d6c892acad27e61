/** What is known of one unit, without prefix and exponent. */
export interface UnitAtom {
  /** Whether a prefix may stand before it. */
  readonly takesPrefix: boolean;
}

/** UCUM, table 1, without the binary ones, which stand before bits alone. */
const PREFIXES = ['da', ...'YZEPTGMkhdcmunpfazy'];
const BINARY = ['Ki', 'Mi', 'Gi', 'Ti'];
const ANNOTATION = /\{[!-z|~]*\}/g;
const BRACKETS = /\[[^\]]*\]/g;
const FACTOR = /^\d+$/;
/** An operator, but not one inside brackets: `[m/s2/Hz^(1/2)]` is one unit. */
const OPERATOR = /[./()](?![^[]*\])/;
/** Where UCUM's grammar wants a unit and finds none, or an annotation before one. */
const MISPLACED = /^$|[./(][.)]|\/\/|\($|[./]$|^[.)]|\}[^./)]|\)[^./){]|[^./(]\(/;

/** What is wrong with a code, for the message. */
export interface UnitFault {
  /** The unit before which a prefix stands that it does not take. */
  readonly noPrefix: string | undefined;
}

/**
 * Holds a code against the grammar of UCUM (The Unified Code for Units of Measure, sections 2 and 3): units are known, and
 * prefixes stand before metric units alone. Source of which are: ucum-essence.xml, attribute isMetric.
 * @param atomOf what is known of a unit by its code.
 */
export function unitFault(code: string, atomOf: (code: string) => UnitAtom | undefined): UnitFault | undefined {
  const without = code.replace(ANNOTATION, '');
  if (MISPLACED.test(code.replace(BRACKETS, '[]')) || /[{}\s]/.test(without)) return { noPrefix: undefined };
  for (const term of without.split(OPERATOR)) {
    if (term === '' || FACTOR.test(term)) continue;
    const fault = termFault(term, atomOf);
    if (fault !== undefined) return fault;
  }
  return undefined;
}

function termFault(term: string, atomOf: (code: string) => UnitAtom | undefined): UnitFault | undefined {
  let noPrefix: string | undefined;
  for (const unit of new Set([term, term.replace(/[+-]?\d+$/, '')])) {
    if (atomOf(unit) !== undefined) return undefined;
    for (const prefix of [...PREFIXES, ...BINARY]) {
      const rest = unit.slice(prefix.length);
      const atom = unit.startsWith(prefix) && rest !== '' ? atomOf(rest) : undefined;
      if (atom === undefined) continue;
      const mayStand = BINARY.includes(prefix) ? rest === 'bit' || rest === 'By' : atom.takesPrefix;
      if (mayStand) return undefined;
      noPrefix = rest;
    }
  }
  return { noPrefix };
}

/** What people write for a unit, and its code. */
const WRITTEN: Readonly<Record<string, string>> = {
  psi: '[psi]',
  ppm: '[ppm]',
  ppb: '[ppb]',
  '°c': 'Cel',
  degc: 'Cel',
  celsius: 'Cel',
  '°f': '[degF]',
  degf: '[degF]',
  µm: 'um',
  μm: 'um',
  micron: 'um',
  inch: '[in_i]',
  in: '[in_i]',
  rpm: '/min',
  sec: 's',
  hr: 'h',
  lpm: 'L/min',
  slpm: 'L/min',
  'n/mm²': 'N/mm2',
  'mm²': 'mm2',
  percent: '%',
  ph: '[pH]',
  mmhg: 'mm[Hg]',
  torr: 'mm[Hg]',
};
const USUAL =
  'MPa GPa kPa hPa Pa mbar bar N kN N/mm2 mm um nm cm m mm2 mm3 mm/s mm/min mm/a L/min mL/min g/min kg mg ug g kW W J J/mm3 V A mA kA Hz kHz Cel K s ms min h d a mol/L mmol/L mg/L mg/kg ug/g L mL uL % [ppm] [ppb] [psi] dB deg';

/** Codes that may be meant: of units that people write so, of other capitals, and of one sign more, less or other. */
export function nearUnits(code: string): string[] {
  const written = WRITTEN[code.toLowerCase()];
  if (written !== undefined) return [written];
  const usual = USUAL.split(' ');
  const alike = usual.filter((unit) => unit.toLowerCase() === code.toLowerCase());
  if (alike.length > 0) return alike;
  return code.length < 2 ? [] : usual.filter((unit) => unit.length > 1 && isOneSignOff(unit, code)).slice(0, 3);
}

function isOneSignOff(a: string, b: string): boolean {
  const [short, long] = a.length < b.length ? [a, b] : [b, a];
  if (long.length - short.length > 1) return false;
  let at = 0;
  while (at < short.length && short[at] === long[at]) at += 1;
  return short.slice(long.length === short.length ? at + 1 : at) === long.slice(at + 1);
}
