import { type Document, PEOPLE } from './names.js';

export const supplier = (code: string, title: string, scope: string): Document => ({
  kind: 'supplier',
  format: 1,
  supplier: code,
  title: `${title} (fictional)`,
  approvals: [{ scope, from: '2025-01-01', to: '2027-12-31', basis: 'audit of 2024 (fictional)' }],
});

interface PowderReceipt {
  readonly code: string;
  readonly heat: string;
  readonly received: string;
  readonly iron: string;
  readonly zinc: string;
  readonly calcium: string;
}

export function powderReceipt({ code, heat, received, iron, zinc, calcium }: PowderReceipt): Document {
  return {
    kind: 'receipt',
    format: 1,
    receipt: code,
    supplier: 'SILBERBACH',
    material: 'MgZnCa-powder',
    category: 'powder',
    supplierLot: `SB-${heat}-A`,
    heats: [heat],
    massG: '8000',
    receivedAt: `${received}T10:20:00+02:00`,
    expiry: `${Number(received.slice(0, 4)) + 2}${received.slice(4)}`,
    status: 'accepted',
    acceptance: { by: PEOPLE.quality, at: `${received}T15:40:00+02:00` },
    certificate: {
      number: `SB-C-${heat}`,
      type: '3.1',
      issued: received,
      transcribedBy: PEOPLE.process,
      checkedBy: PEOPLE.operator,
      lines: [
        { property: 'Zn', value: zinc, ucum: '%' },
        { property: 'Ca', value: calcium, ucum: '%' },
        { property: 'Fe', value: iron, ucum: '%' },
        { property: 'Ni', value: '<0.0005', ucum: '%' },
        { property: 'Cu', value: '0.0008', ucum: '%' },
        { property: 'moisture', value: '61', ucum: 'ug/g' },
        { property: 'D50', value: '78', ucum: 'um' },
      ],
    },
  };
}

export const argon = (code: string, received: string): Document => ({
  kind: 'receipt',
  format: 1,
  receipt: code,
  supplier: 'ARGENTIS',
  material: 'argon',
  category: 'gas',
  supplierLot: `AR-${received.replaceAll('-', '')}`,
  receivedAt: `${received}T08:10:00+02:00`,
  expiry: `${Number(received.slice(0, 4)) + 3}${received.slice(4)}`,
  status: 'accepted',
  acceptance: { by: PEOPLE.quality, at: `${received}T09:00:00+02:00` },
  certificate: {
    number: `ARG-${received}`,
    type: 'gas analysis',
    issued: received,
    transcribedBy: PEOPLE.operator,
    checkedBy: PEOPLE.process,
    lines: [
      { property: 'O2', value: '<0.5', ucum: '[ppm]' },
      { property: 'H2O', value: '<0.5', ucum: '[ppm]' },
    ],
  },
});

export const powder = (
  state: string,
  operation: string,
  madeAt: string,
  inputs: readonly object[],
  moisture: string,
): Document => ({
  kind: 'powder-state',
  format: 1,
  state,
  operation,
  madeAt: `${madeAt}T07:45:00+02:00`,
  madeBy: PEOPLE.operator,
  inputs,
  tests: [
    {
      property: 'moisture',
      value: moisture,
      ucum: 'ug/g',
      instrument: 'KF-1',
      by: PEOPLE.analyst,
      at: `${madeAt}T09:30:00+02:00`,
    },
  ],
});
