import {
  APPROVED,
  type Document,
  EFFECTIVE,
  FAMILY,
  FICTION,
  MACHINE,
  RECIPE_GROUP,
  STUDY,
  VALIDATION,
} from './names.js';

const range = (step: string, parameter: string, min: string, max: string, ucum: string): Document => ({
  step,
  parameter,
  min,
  max,
  ucum,
});

const stage = (report: string, at: string): Document => ({ report, at });

export const processValidation: Document = {
  kind: 'process-validation',
  format: 1,
  ...VALIDATION,
  title: `Hybrid build of bridge plates, ${FICTION}`,
  family: FAMILY,
  machine: MACHINE,
  recipeGroups: [RECIPE_GROUP],
  installation: stage('IQ-HC-1', '2025-03-14'),
  operation: stage('OQ-HC-1', '2025-05-23'),
  performance: stage('PQ-BP-1', '2025-08-29'),
  envelope: [
    range('deposit', 'laser power', '275', '315', 'W'),
    range('deposit', 'scan speed', '7', '10', 'mm/s'),
    range('deposit', 'powder flow', '2.8', '3.6', 'g/min'),
    range('peen', 'needle force', '25', '50', 'N'),
    range('peen', 'step-over', '0.2', '0.3', 'mm'),
    range('mill', 'spindle speed', '15000', '20000', '/min'),
    range('mill', 'depth of cut', '0.1', '0.2', 'mm'),
  ],
  shown: [
    {
      characteristic: 'stress',
      ucum: 'MPa',
      n: 45,
      builds: 9,
      mean: '-86',
      sd: '8',
      rationale: 'nine builds of five coupons; spread between builds not larger than within (fictional)',
    },
  ],
  validFrom: EFFECTIVE,
  validUntil: '2027-09-15T00:00:00+02:00',
  triggers: 'another machine, powder supplier, recipe group or peening tool (fictional)',
  approval: APPROVED,
};

export const equivalenceStudy: Document = {
  kind: 'equivalence-study',
  format: 1,
  ...STUDY,
  title: `Coupons beside bridge plates, ${FICTION}`,
  family: FAMILY,
  machine: MACHINE,
  recipeGroups: [RECIPE_GROUP],
  zoneClasses: ['load-bearing'],
  characteristics: ['rm', 'rate', 'stress'],
  positions: ['left-row', 'middle-row', 'right-row'],
  orientations: ['flat'],
  differences: [{ characteristic: 'rm', bias: '0.01', standardUncertainty: '0.004' }],
  conclusion:
    'Strength of coupons lies 1 % above that of strips cut from plates, rate and stress do not differ (fictional).',
  report: 'EQ-3-R1',
  validFrom: EFFECTIVE,
  approval: APPROVED,
};
