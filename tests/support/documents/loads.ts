import type { Cell } from '../cell.js';

type Document = Cell['documents'][string];

export const at = (day: string, hour: string): string => `2031-03-${day}T${hour}:00+01:00`;

const CYCLES: Readonly<Record<string, readonly Document[]>> = {
  clean: [{ parameter: 'bath', value: '40', ucum: 'Cel' }],
  pack: [{ parameter: 'seal', value: '142', ucum: 'Cel', min: '135', max: '150' }],
  sterilise: [{ parameter: 'dose', value: '26.1', ucum: 'kGy', min: '25', max: '32' }],
};

/** A load of the parts of lots of the cell. All invented. */
export function load(
  code: string,
  step: string,
  day: string,
  hours: readonly [string, string],
  lots = ['L-1'],
): Document {
  return {
    kind: 'process-load',
    format: 1,
    load: code,
    step,
    equipment: 'M1',
    startedAt: at(day, hours[0]),
    at: at(day, hours[1]),
    by: 'P-OP',
    cycle: structuredClone(CYCLES[step] ?? []),
    ...(step === 'pack' ? { expiry: '2033-06-01' } : {}),
    ...(step === 'sterilise'
      ? { indicators: [{ what: 'dosimeter on the box', result: 'passed' }], expiry: '2033-03-04' }
      : {}),
    implants: lots.flatMap((lot) => [`${lot}-I1`, `${lot}-I2`]),
    coupons: lots.flatMap((lot) => [`${lot}-W1`, `${lot}-W2`]),
  };
}

/** Cleaned, packed and sterilised with their coupons, each in a load, for every lot that is named. */
export function addLoads(cell: Cell, lots = ['L-1']): void {
  const loads = [
    load('CL-1', 'clean', '03', ['14:00', '14:30'], lots),
    load('PA-1', 'pack', '03', ['16:00', '16:20'], lots),
    load('ST-1', 'sterilise', '04', ['06:00', '07:00'], lots),
  ];
  for (const one of loads) cell.documents[`loads/${one.load}.yaml`] = one;
  cell.documents['site/family.yaml']!.sterile = 'sterile';
  for (const lot of lots) {
    const document = cell.documents[`lots/${lot}/lot.yaml`]!;
    document.steps = loads.map((one) => ({ step: one.step, at: one.at, by: 'P-OP', load: one.load }));
    document.labels = {
      printed: 2,
      used: 2,
      destroyed: 0,
      inspected: { sample: 2, by: 'P-OP', at: at('03', '17:00') },
    };
  }
}
