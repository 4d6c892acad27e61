/** Names of units by D-SI (The Digital System of Units, SmartCom), and the codes of UCUM. */
const UNITS: ReadonlyMap<string, string> = new Map(
  Object.entries({
    ...{
      metre: 'm',
      gram: 'g',
      kilogram: 'kg',
      second: 's',
      ampere: 'A',
      kelvin: 'K',
      mole: 'mol',
      candela: 'cd',
      one: '1',
    },
    ...{
      hertz: 'Hz',
      newton: 'N',
      pascal: 'Pa',
      joule: 'J',
      watt: 'W',
      coulomb: 'C',
      volt: 'V',
      farad: 'F',
      ohm: 'Ohm',
    },
    ...{
      siemens: 'S',
      weber: 'Wb',
      tesla: 'T',
      henry: 'H',
      degreecelsius: 'Cel',
      lumen: 'lm',
      lux: 'lx',
      becquerel: 'Bq',
    },
    ...{ gray: 'Gy', sievert: 'Sv', katal: 'kat', radian: 'rad', steradian: 'sr', minute: 'min', hour: 'h', day: 'd' },
    ...{
      degree: 'deg',
      arcminute: "'",
      arcsecond: "''",
      litre: 'L',
      tonne: 't',
      bar: 'bar',
      percent: '%',
      ppm: '[ppm]',
    },
    ...{ electronvolt: 'eV', decibel: 'dB', bel: 'B', neper: 'Np', dalton: 'u', hectare: 'har' },
  }),
);

const PREFIXES: ReadonlyMap<string, string> = new Map(
  Object.entries({
    ...{
      yotta: 'Y',
      zetta: 'Z',
      exa: 'E',
      peta: 'P',
      tera: 'T',
      giga: 'G',
      mega: 'M',
      kilo: 'k',
      hecto: 'h',
      deca: 'da',
    },
    ...{
      deci: 'd',
      centi: 'c',
      milli: 'm',
      micro: 'u',
      nano: 'n',
      pico: 'p',
      femto: 'f',
      atto: 'a',
      zepto: 'z',
      yocto: 'y',
    },
  }),
);

const WORDS = /\\([a-zA-Z]+)(?:\{(-?\d{1,2})\})?/g;

/**
 * The code of UCUM for a unit as D-SI writes it, such as `\milli\metre\tothe{2}\per\second`.
 * @returns undefined for what is none, or none that is known here.
 */
export function ucumOfDsi(unit: string): string | undefined {
  if (unit.replaceAll(WORDS, '').trim() !== '' || unit.trim() === '') return undefined;
  const terms: { prefix: string; code: string; power: number }[] = [];
  let [prefix, sign] = ['', 1];
  for (const [, written = '', power] of unit.matchAll(WORDS)) {
    const word = written.toLowerCase();
    if (word === 'per') sign = -1;
    else if (word === 'tothe') {
      const last = terms.at(-1);
      if (!last || power === undefined) return undefined;
      last.power *= Number(power);
    } else if (PREFIXES.has(word)) prefix = PREFIXES.get(word)!;
    else {
      const code = UNITS.get(word);
      if (code === undefined) return undefined;
      terms.push({ prefix, code, power: sign });
      [prefix, sign] = ['', 1];
    }
  }
  if (terms.length === 0 || prefix !== '' || sign === -1) return undefined;
  return terms.map(({ prefix, code, power }) => `${prefix}${code}${power === 1 ? '' : power}`).join('.');
}
