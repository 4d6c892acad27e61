import { addLot, type Cell, makeCell } from '../cell.js';
import { trainDeciders } from '../signing-cell.js';

/**
 * Pins of a zinc alloy, a second family on the machine of the cell: changed over to, built from a blend of which the
 * certificate came late, topped up, with a state that was thrown away, a worn tip, a bath near its limit, and a chemical
 * analysis as its instrument exports it. All invented.
 */

const [MG, ZN] = ['Mg-Zn-Ca', 'Zn-1Mg'];
const LOT = 'lots/Z-1/lot.yaml';
export const EXPORT = 'lots/Z-1/exports/ICP/2031-03-05.csv';

type Documents = Cell['documents'];

/** The same documents under names of their own. */
function secondFamily(site: Documents): Documents {
  const of = (name: string, changes: object) => ({ ...structuredClone(site[`site/${name}.yaml`]!), ...changes });
  const characteristics = site['site/specification.yaml']!.characteristics;
  const analysis = (characteristic: string, title: string, limits: object, more: object) => ({
    ...structuredClone(characteristics[0]),
    ...{ characteristic, title, ucum: '%', replicates: 1, method: { method: 'TM-S', revision: 1 } },
    ...{ lower: undefined, ...limits, direction: 'nominal-is-best', ...more },
  });
  const specification = of('specification', {
    ...{ specification: 'ZSP', revision: 1, title: 'Pin specification', family: 'PIN', materials: [] },
    validations: [{ validation: 'ZPV', revision: 1 }],
    pooling: { ...site['site/specification.yaml']!.pooling, recipeGroups: ['pins'] },
    characteristics: [
      ...structuredClone(characteristics),
      analysis('mg', 'Magnesium in the deposit', { lower: '0.6', upper: '1.2' }, { deposited: 'Mg' }),
      analysis('sfe', 'Iron on the surface', { upper: '0.02' }, { touchedBy: ['peen'] }),
    ],
  });
  return {
    'site/zinc/family.yaml': of('family', { family: 'PIN', title: 'Invented pin', alloy: ZN }),
    'site/zinc/specification.yaml': JSON.parse(JSON.stringify(specification)),
    'site/zinc/recipe.yaml': of('recipe', {
      ...{ recipe: 'ZRC', revision: 1, title: 'Pin recipe', group: 'pins', family: 'PIN' },
    }),
    'site/zinc/validation.yaml': of('validation', {
      ...{ validation: 'ZPV', revision: 1, family: 'PIN', recipeGroups: ['pins'], title: 'Hybrid build of pins' },
    }),
    'site/zinc/study.yaml': of('study', {
      ...{ study: 'ZEQ', revision: 1, family: 'PIN', recipeGroups: ['pins'], title: 'Coupons beside pins' },
      characteristics: ['rm', 'mg', 'sfe'],
    }),
  };
}

const received = (receipt: string, material: string, category: string, more: object): Documents[string] => ({
  ...{ kind: 'receipt', format: 1, receipt, supplier: 'S2', material, category, supplierLot: `L-${receipt}` },
  ...{ receivedAt: '2031-01-12T10:00:00+01:00', status: 'accepted' },
  acceptance: { by: 'P-QE', at: '2031-01-13T10:00:00+01:00' },
  ...more,
});

const certificate = (number: string, magnesium: string, iron: string) => ({
  ...{ number, type: '3.1', issued: '2030-12-20', transcribedBy: 'P-OP', checkedBy: 'P-QE' },
  lines: [
    { property: 'Zn', value: '98.9', ucum: '%' },
    { property: 'Mg', value: magnesium, ucum: '%', uncertainty: '0.02' },
    { property: 'Fe', value: iron, ucum: '[ppm]' },
    { property: 'D10', value: '46', ucum: 'um' },
    { property: 'D50', value: '74', ucum: 'um' },
    { property: 'D90', value: '104', ucum: 'um' },
  ],
});

const POWDER = { materialSpecification: { material: 'zn-powder', revision: 1 }, massG: '5000', state: 'virgin' };
const SEALED = { container: { sealed: 'yes', desiccantTouches: 'no' } };

/** In quarantine while it was blended, and accepted once its certificate had come. */
export function lateReceipt(isAccepted: boolean): Documents[string] {
  const { status, acceptance, ...rest } = received('R-Z2', 'zn-powder', 'powder', {
    ...{ ...POWDER, ...SEALED, labelLot: 'L-R-Z2', heats: ['Z81'], receivedAt: '2031-01-15T10:00:00+01:00' },
  });
  if (!isAccepted) return { ...rest, status: 'quarantine' };
  return {
    ...{ ...rest, status, acceptance: { by: 'P-QE', at: '2031-03-05T09:00:00+01:00' } },
    certificate: certificate('C-Z2', '0.94', '<12'),
    reason: 'the certificate came (invented)',
  };
}

const ordered = (material: string, category: string, more: object): Documents[string] => ({
  ...{ kind: 'material-specification', format: 1, material, revision: 1, title: material, category },
  ...{ lines: [{ property: 'Zn', ucum: '%', from: 'certificate' }], effectiveFrom: '2031-01-11T00:00:00+01:00' },
  approval: { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' },
  ...more,
});

const state = (code: string, operation: string, inputs: readonly object[], more: object = {}): Documents[string] => ({
  ...{ kind: 'powder-state', format: 1, state: code, operation, madeAt: '2031-01-16T08:00:00+01:00', madeBy: 'P-OP' },
  ...{ inputs, ...more },
});

function materials(): Documents {
  return {
    'site/zinc/supplier.yaml': {
      ...{ kind: 'supplier', format: 1, supplier: 'S2', title: 'Invented Zinc' },
      approvals: [{ scope: 'zn-powder', from: '2030-01-01', to: '2031-12-31', basis: 'audit (invented)' }],
    },
    'site/zinc/powder-order.yaml': ordered('zn-powder', 'powder', {
      lines: [
        { property: 'Mg', ucum: '%', lower: '0.8', upper: '1.2', from: 'certificate' },
        { property: 'Fe', ucum: '[ppm]{mass}', upper: '30', from: 'certificate' },
      ],
      ...{ certificateTypes: ['3.1'], reuseLimit: 3, balancePercent: '2' },
    }),
    'site/zinc/tip-order.yaml': ordered('carbide-tip', 'tool', { inUseLimit: { uses: 5 } }),
    'site/zinc/bath-order.yaml': ordered('acid-bath', 'chemical', { inUseLimit: { hours: '48' } }),
    'site/zinc/R-Z1.yaml': received('R-Z1', 'zn-powder', 'powder', {
      ...{ ...POWDER, ...SEALED, labelLot: 'L-R-Z1', heats: ['Z77'], certificate: certificate('C-Z1', '1.04', '<10') },
    }),
    'site/zinc/R-Z2.yaml': lateReceipt(false),
    'site/zinc/R-T.yaml': received('R-T', 'carbide-tip', 'tool', { quantity: { value: '10', ucum: '1' } }),
    'site/zinc/R-B.yaml': received('R-B', 'acid-bath', 'chemical', { quantity: { value: '5', ucum: 'L' } }),
    'site/zinc/R-A.yaml': received('R-A', 'argon', 'gas', {}),
    'site/zinc/R-C.yaml': received('R-C', 'argon', 'gas', {}),
    'site/zinc/ZS-1.yaml': state('ZS-1', 'fill', [{ receipt: 'R-Z1', massG: '3000' }]),
    'site/zinc/ZS-2.yaml': state('ZS-2', 'sieve', [{ state: 'ZS-1', massG: '1000' }], {
      ...{ yieldG: '990', lossG: '10', hopper: 'H-2', sieve: { meshUm: '106' } },
      madeAt: '2031-01-16T09:00:00+01:00',
    }),
    'site/zinc/ZS-3.yaml': state(
      'ZS-3',
      'blend',
      [
        { state: 'ZS-2', massG: '600' },
        { receipt: 'R-Z2', massG: '400' },
      ],
      { madeAt: '2031-01-16T10:00:00+01:00' },
    ),
    'site/zinc/ZS-4.yaml': state(
      'ZS-4',
      'top-up',
      [
        { state: 'ZS-3', massG: '800' },
        { receipt: 'R-Z1', massG: '200' },
      ],
      { madeAt: '2031-01-16T11:00:00+01:00' },
    ),
    'site/zinc/ZS-5.yaml': state('ZS-5', 'discard', [{ state: 'ZS-2', massG: '200' }], {
      ...{ madeAt: '2031-01-16T12:00:00+01:00', note: 'lay open over night (invented)' },
    }),
    'site/zinc/ZS-6.yaml': state('ZS-6', 'purge', [{ state: 'ZS-1', massG: '50' }], {
      madeAt: '2031-01-17T07:00:00+01:00',
    }),
    'site/zinc/changeover.yaml': {
      ...{ kind: 'changeover', format: 1, changeover: 'CO-1', machine: 'M1', fromAlloy: MG, toAlloy: ZN, by: 'P-OP' },
      ...{ at: '2031-01-17T08:00:00+01:00', purge: { massG: '50', intoState: 'ZS-6' }, cleaned: ['hopper', 'nozzle'] },
      verified: { what: 'swab of the hopper (invented)', result: 'passed', by: 'P-QE' },
    },
    'site/zinc/bottle.yaml': {
      ...{ kind: 'consumable', format: 1, consumable: 'B-7', category: 'gas bottle', material: 'argon', by: 'P-OP' },
      ...{ made: [{ receipt: 'R-C' }], machine: 'M1', inUseFrom: '2031-01-18T08:00:00+01:00' },
    },
    'site/zinc/tip.yaml': {
      ...{ kind: 'consumable', format: 1, consumable: 'TIP-7', category: 'tip', material: 'carbide-tip', by: 'P-OP' },
      materialSpecification: { material: 'carbide-tip', revision: 1 },
      ...{ made: [{ receipt: 'R-T', quantity: { value: '1', ucum: '1' } }], machine: 'M1' },
      inUseFrom: '2031-01-18T08:00:00+01:00',
    },
    'site/zinc/profile.yaml': {
      ...{
        kind: 'instrument-profile',
        format: 1,
        profile: 'ICP',
        revision: 1,
        title: 'Plasma spectrometer (invented)',
      },
      ...{ delimiter: 'semicolon', decimal: 'comma', time: { form: 'DD.MM.YYYY HH:mm:ss', zone: '+01:00' } },
      tables: [
        {
          headerLines: 1,
          columns: [
            { column: 'Probe', is: 'specimen' },
            { column: 'Zeit', is: 'measuredAt' },
          ],
          values: [
            { column: 'Mg', characteristic: 'mg', ucum: '%', uncertainty: 'u(Mg)' },
            { column: 'Fe', characteristic: 'sfe', ucum: '[ppm]' },
          ],
          constants: { instrument: 'I-MIC', analyst: 'P-AN', method: { method: 'TM-S', revision: 1 } },
        },
      ],
    },
  };
}

/** The cell with nothing but its site and what the pins need; the lot is only planned. */
export function pinsPlanned(): Cell {
  const cell = makeCell();
  trainDeciders(cell);
  for (const part of [cell.documents, cell.sheets, cell.files] as Record<string, unknown>[]) {
    for (const name of Object.keys(part)) if (/L-1/.test(name)) delete part[name];
  }
  Object.assign(cell.documents['site/machine.yaml']!, { alloys: [MG, ZN], clearance: 'yes' });
  Object.assign(cell.documents, secondFamily(cell.documents), materials());
  return cell;
}

/** As it was planned: allowed at risk before the certificate of the second receipt was there. */
export function planPins(cell: Cell): void {
  addLot(cell, 'Z-1', 201, '2031-03-04', { rm: 230, thickness: 1.5 });
  for (const name of Object.keys(cell.sheets)) delete cell.sheets[name];
  for (const document of Object.values(cell.documents)) if (document.kind === 'case') document.family = 'PIN';
  const lot = cell.documents[LOT]!;
  Object.assign(lot, { family: 'PIN', specification: { specification: 'ZSP', revision: 1 } });
  for (const part of [...lot.implants, ...lot.coupons]) part.recipe = { recipe: 'ZRC', revision: 1 };
  for (const coupon of lot.coupons) coupon.study = { study: 'ZEQ', revision: 1 };
  const [build] = lot.builds;
  delete build.log;
  Object.assign(lot, { opened: { ...lot.opened, at: '2031-03-01T08:00:00+01:00' } });
  Object.assign(build, { state: 'planned', powder: [{ state: 'ZS-4', chargedG: '180' }], changeover: 'CO-1' });
  cell.documents['risk/M1-201.yaml'] = {
    ...{ kind: 'risk-build', format: 1, build: 'M1-201', receipts: ['R-Z2'], implants: ['Z-1-I1', 'Z-1-I2'] },
    ...{ why: 'surgery is fixed (invented)', by: 'P-OP', at: '2031-03-01T09:00:00+01:00' },
  };
}

/** As it was built, cleaned in the bath, tested, packed and labelled, with the certificate that came late. */
export function buildPins(cell: Cell): void {
  const whole = makeCell();
  addLot(whole, 'Z-1', 201, '2031-03-04', { rm: 230, thickness: 1.5 });
  const lot = cell.documents[LOT]!;
  const [build] = lot.builds;
  delete build.state;
  lot.reason = 'it was built (invented)';
  Object.assign(build, {
    log: whole.documents[LOT]!.builds[0].log,
    powder: [{ state: 'ZS-4', chargedG: '180', depositedG: '61', recoveredG: '109', wasteG: '8' }],
    gas: [{ receipt: 'R-A' }, { receipt: 'R-C', bottle: 'B-7', from: '2031-03-04T08:01:00+01:00' }],
    consumables: [{ consumable: 'TIP-7', step: 'peen', uses: 5 }],
    lineClearance: { by: 'P-QE', at: '2031-03-04T07:45:00+01:00' },
  });
  lot.steps = [
    { step: 'clean', at: '2031-03-05T08:00:00+01:00', by: 'P-OP', load: 'CL-1' },
    { step: 'pack', at: '2031-03-05T11:00:00+01:00', by: 'P-OP' },
  ];
  lot.labels = { printed: 2, used: 2, destroyed: 0 };
  lot.labels.inspected = { sample: 2, by: 'P-OP', at: '2031-03-05T11:30:00+01:00' };
  cell.documents['site/zinc/bath.yaml'] = {
    ...{ kind: 'consumable', format: 1, consumable: 'BATH-1', category: 'bath', material: 'acid-bath', by: 'P-OP' },
    materialSpecification: { material: 'acid-bath', revision: 1 },
    ...{ made: [{ receipt: 'R-B', quantity: { value: '1', ucum: 'L' } }], inUseFrom: '2031-03-03T08:30:00+01:00' },
  };
  cell.documents['site/zinc/load.yaml'] = {
    ...{ kind: 'process-load', format: 1, load: 'CL-1', step: 'clean', by: 'P-OP', contractor: 'S2' },
    ...{ startedAt: '2031-03-05T07:50:00+01:00', at: '2031-03-05T08:00:00+01:00' },
    cycle: [{ parameter: 'time in the bath', value: '2', ucum: 'min', min: '1', max: '3' }],
    implants: ['Z-1-I1', 'Z-1-I2'],
    coupons: ['Z-1-W1', 'Z-1-W2'],
    consumables: [{ consumable: 'BATH-1' }],
  };
  cell.documents['site/zinc/R-Z2.yaml'] = lateReceipt(true);
  Object.assign(cell.sheets, whole.sheets);
  for (const name of Object.keys(cell.sheets)) if (!name.startsWith('lots/Z-1/')) delete cell.sheets[name];
  cell.files['lots/Z-1/logs/run.csv'] = whole.files['lots/Z-1/logs/run.csv']!;
  cell.files[EXPORT] = [
    'Spectrometer 4, invented',
    'Probe;Zeit;Mg;u(Mg);Fe',
    'Z-1-W1;05.03.2031 08:30:00;0,91;0,012;64',
    'Z-1-W2;05.03.2031 08:40:00;0,93;0,012;58',
    '',
  ].join('\n');
}
