import { tradeUnit } from '../../src/dossier/unit-text.js';

it.each([
  ['um', 'µm'],
  ['[ppm]', 'ppm'],
  ['mm/a', 'mm/year'],
  ['Cel', '°C'],
  ['mL/cm2', 'mL/cm²'],
  ['mm2', 'mm²'],
  ['s-1', 's⁻¹'],
  ['N.m', 'N·m'],
  ['g/min', 'g/min'],
  ['uA/cm2', 'µA/cm²'],
  ['[ppm]{vol}', 'ppm vol'],
  ['ug/g', 'µg/g'],
  ['deg', '°'],
])('writes %s as the trade does: %s', (ucum, expected) => {
  expect(tradeUnit(ucum)).toBe(expected);
});

it.each(['MPa', 'mm', '%', 'W', 'mbar', 'u', 'min', 'J/mm3{odd'])('leaves %s as it is', (ucum) => {
  expect(tradeUnit(ucum)).toBe(ucum);
});
