import { z } from 'zod';
import { hydrogenRate as computeHydrogenRate } from '../degradation/corrosion-rate.js';
import { finite, nonNegative, positive } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

export const hydrogenRate: AnyCalculation = defineCalculation({
  name: 'hydrogen-rate',
  purpose: 'How fast a divalent metal corrodes, from the hydrogen it gave off',
  input: z.strictObject({
    volumeMl: nonNegative('gas volume as read, blank subtracted, in mL'),
    gasTemperatureC: finite('temperature of the gas when read, in °C'),
    pressureKpa: positive('absolute pressure of the gas when read, in kPa'),
    wet: z
      .boolean('must be true (collected over water or medium) or false')
      .describe('true when the gas is saturated with water vapour'),
    waterVapourKpa: nonNegative(
      'partial pressure of the water vapour, in kPa; for wet gas without it, saturation at the gas temperature',
    ).optional(),
    areaCm2: positive('exposed area at the start, in cm²'),
    timeH: positive('time of exposure, in h'),
    densityGPerCm3: positive('density of the material, in g/cm³'),
    molarMassGPerMol: positive('molar mass of the metal (magnesium 24.305, zinc 65.38), in g/mol'),
  }),
  output: {
    waterVapourKpa: 'partial pressure of water vapour that was taken off, kPa',
    molHydrogen: 'amount of hydrogen, mol',
    dryVolumeMlStp: 'volume of the dry gas at 0 °C and 101.325 kPa, mL',
    massLossMg: 'mass of metal that gave this hydrogen, mg',
    mmPerYear: 'mean loss of thickness, mm per year of 365 days',
  },
  formula: [
    'molHydrogen = (p − pw) × V / (R × (t + 273.15)), p and pw in Pa, V in m³, R = 8.31446261815324 J/(mol K); pw = 0 for dry gas',
    'dryVolumeMlStp = molHydrogen × R × 273.15 / 101325 Pa, in mL (× 1e6)',
    'massLossMg = 1000 × molHydrogen × molar mass (one mole of metal for one mole of gas)',
    'mmPerYear = 87600 × (massLossMg / 1000) / (A × T × D), A in cm², T in h, D in g/cm³',
    'Wet gas without waterVapourKpa: ln(pw / 22064 kPa) = (647.096 / K) × (−7.85951783 τ + 1.84408259 τ^1.5 − 11.7866497 τ^3 + 22.6807411 τ^3.5 − 15.9618719 τ^4 + 1.80122502 τ^7.5), K = t + 273.15, τ = 1 − K / 647.096',
  ].join('\n'),
  source: 'ideal gas law; M + 2 H2O = M(OH)2 + H2; ASTM G1; water vapour: Wagner and Pruss, IAPWS SR1-86',
  example: {
    input: {
      volumeMl: 6.2,
      gasTemperatureC: 37,
      pressureKpa: 101,
      wet: true,
      waterVapourKpa: 6.28,
      areaCm2: 5.652,
      timeH: 336,
      densityGPerCm3: 1.84,
      molarMassGPerMol: 24.305,
    },
    source: 'worked by hand: 6.20 mL read at 37 °C over water, magnesium alloy',
    steps: [
      'p − pw = 101.0 − 6.28 = 94.72 kPa = 94720 Pa; V = 6.2e-6 m³; T = 310.15 K',
      'molHydrogen = 94720 × 6.2e-6 / (8.31446 × 310.15) = 2.2773e-4 mol',
      'dryVolumeMlStp = 2.2773e-4 × 8.31446 × 273.15 / 101325 × 1e6 = 5.104 mL',
      'massLossMg = 1000 × 2.2773e-4 × 24.305 = 5.535 mg',
      'mmPerYear = 87600 × 0.005535 / (5.652 × 336 × 1.84) = 0.13876',
    ],
  },
  compute(input) {
    const notes = [
      'hydrogen dissolves in the medium and leaks: the rate is usually lower than the one from mass loss',
      'one mole of gas for one mole of metal holds for valence 2 (magnesium, zinc)',
    ];
    if (input.wet && input.waterVapourKpa === undefined) {
      notes.push('no water vapour pressure was given: saturation over pure water at the gas temperature was taken');
    }
    return {
      ...computeHydrogenRate(input),
      method: 'ideal gas at the temperature and pressure read, less the water vapour; year of 365 days',
      source: 'ideal gas law; ASTM G1; water vapour: Wagner and Pruss, IAPWS SR1-86',
      notes,
    };
  },
});
