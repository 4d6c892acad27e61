import type { Cell } from '../cell.js';

const APPROVAL = { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' };

/** What the powder of the cell is ordered to: limits of the certificate, and one that the cell tests itself. All invented. */
const SPECIFICATION = {
  kind: 'material-specification',
  format: 1,
  material: 'mg-powder',
  revision: 1,
  title: 'Magnesium powder',
  category: 'powder',
  lines: [
    { property: 'Fe', ucum: '[ppm]{mass}', upper: '50', from: 'certificate' },
    { property: 'Zn', ucum: '%', lower: '0.40', upper: '0.50', from: 'certificate' },
    { property: 'Mg', ucum: '%', from: 'certificate' },
    { property: 'D50', ucum: 'um', lower: '30', upper: '60', from: 'certificate' },
    { property: 'moisture', ucum: '[ppm]', upper: '100', from: 'own test' },
  ],
  sumRange: { properties: ['Fe', 'Zn', 'Mg'], ucum: '%', lower: '99.8', upper: '100.2' },
  certificateTypes: ['3.1', '3.2'],
  reuseLimit: 2,
  shelfLifeDays: 365,
  balancePercent: '2',
  effectiveFrom: '2031-01-11T00:00:00+01:00',
  approval: APPROVAL,
};

const LINES = [
  { property: 'Mg', value: '99.52', ucum: '%' },
  { property: 'D10', value: '22', ucum: 'um' },
  { property: 'D50', value: '0.041', ucum: 'mm' },
  { property: 'D90', value: '68', ucum: 'um' },
];

/** Of 180 g that were charged; 2 g are missing, where 2 % may. */
const WEIGHED = { depositedG: '60', recoveredG: '110', wasteG: '8' };

/** Adds to the cell what is asked of its powder, and a delivery that shows all of it. */
export function addMaterials({ documents }: Cell): void {
  documents['site/material.yaml'] = structuredClone(SPECIFICATION);
  documents['site/supplier.yaml']!.approvals = [
    { scope: 'magnesium  Powder', from: '2030-01-01', to: '2031-12-31', basis: 'audit (invented)' },
  ];
  documents['site/specification.yaml']!.depositedMetal = [
    { property: 'Zn', ucum: '%', lower: '0.40', upper: '0.50', validation: 'PV' },
  ];
  documents['site/validation.yaml']!.depositedMetal = [
    {
      ...{ property: 'Zn', ucum: '[ppm]', change: '-300', standardUncertainty: '50' },
      ...{ analysedAt: '2030-12-10', report: 'CH-1', holdsDays: 365 },
    },
  ];
  const receipt = documents['site/receipt.yaml']!;
  Object.assign(receipt, {
    materialSpecification: { material: 'mg-powder', revision: 1 },
    labelLot: receipt.supplierLot,
    container: { sealed: 'yes', desiccantTouches: 'no' },
  });
  receipt.certificate.lines.push(...structuredClone(LINES));
  const lot = Object.values(documents).find(({ kind }) => kind === 'lot')!;
  Object.assign(lot.builds[0].powder[0], WEIGHED);
  documents['site/powder.yaml']!.tests = [
    ...[{ property: 'moisture', value: '61', ucum: '[ppm]', instrument: 'I-RIG', by: 'P-AN' }].map((test) => ({
      ...test,
      at: '2031-01-14T09:00:00+01:00',
    })),
  ];
}
