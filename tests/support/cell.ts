import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { stringify } from 'yaml';

/**
 * A small invented cell with one lot: two implants, a coupon for each, one build with a short log. Everything conforms.
 * Tests take a copy and spoil one thing. Documents are plain objects, sheets are rows, logs are text.
 */
export interface Cell {
  // biome-ignore lint/suspicious/noExplicitAny: tests spoil documents at any depth
  readonly documents: Record<string, Record<string, any>>;
  readonly sheets: Record<string, Record<string, string>[]>;
  readonly files: Record<string, string>;
}

const APPROVAL = { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' };
const EFFECTIVE = '2031-01-11T00:00:00+01:00';

function site(): Cell['documents'] {
  const person = (code: string, name: string, does: string, operations: readonly string[] = []) => ({
    kind: 'person',
    format: 1,
    person: code,
    name,
    function: does,
    qualifications: operations.map((operation) => ({ operation, from: '2031-01-02' })),
  });
  return {
    'site/people/operator.yaml': person('P-OP', 'Ovid Example', 'operator', ['M1', 'clean', 'pack', 'sterilise']),
    'site/people/analyst.yaml': person('P-AN', 'Ana Example', 'analyst', ['TM-T', 'TM-S']),
    'site/people/quality.yaml': person('P-QE', 'Quentin Example', 'quality engineer'),
    'site/family.yaml': {
      kind: 'family',
      format: 1,
      family: 'PLATE',
      revision: 1,
      title: 'Invented plate',
      alloy: 'Mg-Zn-Ca',
      intendedUse: 'fixation, invented',
      route: 'custom-made',
      sterile: 'non-sterile',
      lifetime: { years: 5, basis: 'invented' },
      effectiveFrom: EFFECTIVE,
      approval: APPROVAL,
    },
    'site/machine.yaml': {
      kind: 'machine',
      format: 1,
      machine: 'M1',
      title: 'Hybrid cell 1',
      location: 'Room 1',
      does: ['deposit', 'peen', 'mill'],
      upkeep: ['maintenance', 'leak test', 'power check'].map((what) => ({
        what,
        at: '2031-01-09T08:00:00+01:00',
        due: '2032-01-09T08:00:00+01:00',
        result: 'passed',
        by: 'P-OP',
      })),
    },
    'site/validation.yaml': {
      kind: 'process-validation',
      format: 1,
      validation: 'PV',
      revision: 1,
      title: 'Hybrid build of plates',
      family: 'PLATE',
      machine: 'M1',
      recipeGroups: ['plates'],
      installation: { report: 'IQ-1', at: '2030-10-01' },
      operation: { report: 'OQ-1', at: '2030-11-01' },
      performance: { report: 'PQ-1', at: '2030-12-01' },
      envelope: [
        { step: 'deposit', parameter: 'laser power', ucum: 'W', min: '280', max: '320' },
        { step: 'peen', parameter: 'force', ucum: 'N', min: '30', max: '50' },
      ],
      shown: [
        {
          characteristic: 'rm',
          ucum: 'MPa',
          n: 30,
          builds: 6,
          mean: '231',
          sd: '3',
          rationale: 'six builds of five coupons (invented)',
        },
      ],
      validFrom: EFFECTIVE,
      validUntil: '2033-01-11T00:00:00+01:00',
      triggers: 'another machine or recipe group (invented)',
      approval: APPROVAL,
    },
    'site/study.yaml': {
      kind: 'equivalence-study',
      format: 1,
      study: 'EQ',
      revision: 1,
      title: 'Coupons beside plates',
      family: 'PLATE',
      machine: 'M1',
      recipeGroups: ['plates'],
      zoneClasses: ['load-bearing'],
      characteristics: ['rm'],
      conclusion: 'no difference that matters (invented)',
      report: 'EQ-R-1',
      validFrom: EFFECTIVE,
      approval: APPROVAL,
    },
    'site/supplier.yaml': { kind: 'supplier', format: 1, supplier: 'S1', title: 'Invented Powders' },
    'site/receipt.yaml': {
      kind: 'receipt',
      format: 1,
      receipt: 'R-1',
      supplier: 'S1',
      material: 'mg-powder',
      category: 'powder',
      supplierLot: 'PL-77',
      heats: ['0417'],
      // Enough for thousands of lots: each takes 180 g of the one powder state.
      massG: '2000000',
      receivedAt: '2031-01-12T10:00:00+01:00',
      expiry: '2032-01-12',
      status: 'accepted',
      acceptance: { by: 'P-QE', at: '2031-01-13T10:00:00+01:00' },
      certificate: {
        number: 'C-1',
        type: '3.1',
        issued: '2030-12-20',
        transcribedBy: 'P-OP',
        checkedBy: 'P-QE',
        lines: [
          { property: 'Fe', value: '<0.0030', ucum: '%' },
          { property: 'Zn', value: '0.46', ucum: '%' },
        ],
      },
    },
    'site/powder.yaml': {
      kind: 'powder-state',
      format: 1,
      state: 'PS-1',
      operation: 'fill',
      madeAt: '2031-01-14T08:00:00+01:00',
      madeBy: 'P-OP',
      inputs: [{ receipt: 'R-1', massG: '1000000' }],
    },
    'site/method-tensile.yaml': {
      kind: 'method',
      format: 1,
      method: 'TM-T',
      revision: 1,
      title: 'Tensile test',
      destructive: 'destructive',
      effectiveFrom: EFFECTIVE,
      approval: APPROVAL,
    },
    'site/method-size.yaml': {
      kind: 'method',
      format: 1,
      method: 'TM-S',
      revision: 1,
      title: 'Thickness',
      destructive: 'non-destructive',
      effectiveFrom: EFFECTIVE,
      approval: APPROVAL,
    },
    'site/instruments/rig.yaml': instrument('I-RIG', 'Tensile rig', '2032-01-15T08:00:00+01:00'),
    'site/instruments/gauge.yaml': instrument('I-MIC', 'Micrometer', '2032-01-15T08:00:00+01:00'),
    'site/recipe.yaml': {
      kind: 'recipe',
      format: 1,
      recipe: 'RC',
      revision: 2,
      title: 'Plate recipe',
      group: 'plates',
      family: 'PLATE',
      machine: 'M1',
      effectiveFrom: EFFECTIVE,
      approval: APPROVAL,
      chamber: {
        windows: [{ channel: 'oxygen', ucum: '[ppm]', above: { alert: '20', action: '50', reject: '100' } }],
        inertChannels: ['oxygen'],
        joinBreaksWithinS: '5',
      },
      zones: [
        {
          zone: 'span',
          title: 'bridge span',
          class: 'load-bearing',
          layers: { from: 1, to: 4 },
          steps: [
            {
              step: 'deposit',
              everyLayers: 1,
              parameters: [
                { parameter: 'laser power', set: '300', ucum: 'W', unlogged: 'power check of the week (invented)' },
              ],
              windows: [],
            },
            {
              step: 'peen',
              everyLayers: 2,
              parameters: [{ parameter: 'force', set: '40', ucum: 'N', unlogged: 'read at set-up (invented)' }],
              windows: [],
            },
          ],
        },
      ],
    },
    'site/specification.yaml': {
      kind: 'specification',
      format: 1,
      specification: 'SP',
      revision: 3,
      title: 'Plate specification',
      family: 'PLATE',
      effectiveFrom: EFFECTIVE,
      approval: APPROVAL,
      characteristics: [
        {
          characteristic: 'rm',
          title: 'Tensile strength',
          ucum: 'MPa',
          method: { method: 'TM-T', revision: 1 },
          measuredOn: 'coupon',
          zoneClass: 'load-bearing',
          replicates: 2,
          lower: '215',
          direction: 'higher-is-better',
          decision: { rule: 'simple' },
          rounding: { rule: 'absolute' },
          due: 'before-release',
          plan: 'every-unit',
        },
        {
          characteristic: 'thickness',
          title: 'Plate thickness',
          ucum: 'mm',
          method: { method: 'TM-S', revision: 1 },
          measuredOn: 'implant',
          replicates: 1,
          lower: '1.45',
          upper: '1.55',
          target: '1.50',
          direction: 'nominal-is-best',
          decision: { rule: 'guarded', confidence: '0.95' },
          rounding: { rule: 'absolute' },
          due: 'before-release',
          plan: 'every-unit',
        },
      ],
      materials: [
        { material: 'mg-powder', property: 'Fe', ucum: '[ppm]', upper: '50' },
        { material: 'mg-powder', property: 'Zn', ucum: '%', lower: '0.40', upper: '0.50' },
      ],
      validations: [{ validation: 'PV', revision: 1 }],
      pooling: {
        recipeGroups: ['plates'],
        machines: ['M1'],
        methodRevisions: 'same',
        rationale: 'one machine, one recipe group, one method (invented)',
      },
    },
  };
}

function instrument(code: string, title: string, due: string) {
  return {
    kind: 'instrument',
    format: 1,
    instrument: code,
    title,
    measures: title,
    calibrations: [
      {
        certificate: `K-${code}`,
        at: '2031-01-15T08:00:00+01:00',
        due,
        asFound: 'in tolerance',
        asLeft: 'in tolerance',
        traceableTo: 'national standard (invented)',
      },
    ],
  };
}

/** A lot of two implants with a coupon each, in build `M1-RUN` closed at 08:00 on the given day. */
export function addLot(
  cell: Cell,
  code: string,
  run: number,
  day: string,
  values: { rm: number; thickness: number },
): void {
  const build = `M1-${run}`;
  const at = (time: string) => `${day}T${time}:00+01:00`;
  const nextDay = (time: string) =>
    `${new Date(Date.parse(day) + 86_400_000).toISOString().slice(0, 10)}T${time}:00+01:00`;
  const zone = (name: string) => [{ zone: name, recipeZone: 'span', layers: { from: 1, to: 4 } }];
  const recipe = { recipe: 'RC', revision: 2 };
  const folder = `lots/${code}`;
  for (const n of [1, 2]) {
    cell.documents[`site/cases/${code}-${n}.yaml`] = {
      kind: 'case',
      format: 1,
      case: `K-${run}-${n}`,
      family: 'PLATE',
      neededBy: '2031-12-01',
      designIteration: 1,
      anatomicalSite: 'invented site',
      side: n === 1 ? 'left' : 'right',
      prescriber: { name: 'Dr Example', institution: 'Invented Hospital' },
      prescription: { reference: `RX-${run}-${n}`, at: '2031-01-20T10:00:00+01:00' },
    };
  }
  cell.documents[`${folder}/lot.yaml`] = {
    kind: 'lot',
    format: 1,
    lot: code,
    family: 'PLATE',
    specification: { specification: 'SP', revision: 3 },
    opened: { by: 'P-QE', at: at('07:00') },
    builds: [
      {
        build,
        machine: 'M1',
        run,
        closedAt: at('08:00'),
        openedAt: at('08:02'),
        operator: 'P-OP',
        powder: [{ state: 'PS-1', chargedG: '180' }],
        gas: [],
        log: {
          file: 'logs/run.csv',
          channels: [{ channel: 'oxygen', ucum: '[ppm]' }],
          nominalPeriodMs: 1000,
          gapLimitMs: 3000,
        },
      },
    ],
    implants: [1, 2].map((n) => ({
      serial: `${code}-I${n}`,
      case: `K-${run}-${n}`,
      designIteration: 1,
      build,
      recipe,
      zones: zone(`I${n}-span`),
    })),
    coupons: [1, 2].map((n) => ({
      coupon: `${code}-W${n}`,
      build,
      recipe,
      zones: zone(`W${n}-span`),
      study: { study: 'EQ', revision: 1 },
      standsFor: [`${code}-I${n}`],
      rationale: 'same zone class, beside the implant (invented)',
    })),
  };
  const common = { measuredAt: nextDay('09:00'), analyst: 'P-AN' };
  cell.sheets[`${folder}/results/tensile.csv`] = [1, 2].flatMap((n) =>
    [1, 2].map((replicate) => ({
      specimen: `${code}-W${n}`,
      characteristic: 'rm',
      replicate: String(replicate),
      value: (values.rm + n + replicate / 2).toFixed(1),
      ucum: 'MPa',
      ...common,
      instrument: 'I-RIG',
      method: 'TM-T',
      methodRevision: '1',
    })),
  );
  cell.sheets[`${folder}/results/size.csv`] = [1, 2].map((n) => ({
    specimen: `${code}-I${n}`,
    characteristic: 'thickness',
    replicate: '1',
    value: (values.thickness + n / 1000).toFixed(3),
    ucum: 'mm',
    standardUncertainty: '0.004',
    ...common,
    instrument: 'I-MIC',
    method: 'TM-S',
    methodRevision: '1',
    enteredBy: 'P-AN',
    checkedBy: 'P-QE',
  }));
  cell.files[`${folder}/logs/run.csv`] = logText(day, () => 8, run);
}

/**
 * Two minutes at one row a second: each layer is deposited in every zone, then peened at layers 2 and 4.
 * @param run makes its bytes differ from those of other runs, and no value: a zero behind the point of some rows.
 */
export function logText(
  day: string,
  oxygen: (second: number, zone: string, step: string, layer: number) => number,
  run = 0,
): string {
  const zones = ['I1-span', 'I2-span', 'W1-span', 'W2-span'];
  const start = Date.parse(`${day}T08:00:00+01:00`);
  let text = 'timestamp,layer,zone,step,oxygen\n';
  for (let second = 0; second <= 120; second++) {
    // The last row is still in the last step: a deposit after peening would be out of order.
    const counted = Math.min(second, 119);
    const layer = 1 + Math.floor(counted / 30);
    const within = counted % 30;
    const step = within >= 20 && layer % 2 === 0 ? 'peen' : 'deposit';
    const zone = zones[step === 'peen' ? within % 4 : Math.floor(within / 5) % 4]!;
    const stamp = new Date(start + second * 1000).toISOString();
    const value = String(oxygen(second, zone, step, layer));
    const isMarked = (run >> second) % 2 === 1 && !value.includes('.');
    text += `${stamp},${layer},${zone},${step},${isMarked ? `${value}.0` : value}\n`;
  }
  return text;
}

export function makeCell(): Cell {
  // Cloned, since tests spoil what they get and some parts are used twice.
  const cell: Cell = { documents: structuredClone(site()), sheets: {}, files: {} };
  addLot(cell, 'L-1', 101, '2031-03-03', { rm: 230, thickness: 1.5 });
  return cell;
}

/** The same cell with earlier lots, so that the family has a history. */
export function makeCellWithHistory(lots = 6): Cell {
  // Cloned, since tests spoil what they get and some parts are used twice.
  const cell: Cell = { documents: structuredClone(site()), sheets: {}, files: {} };
  for (let index = 0; index < lots; index++) {
    const day = `2031-02-${String(index + 2).padStart(2, '0')}`;
    addLot(cell, `L-0${index}`, 50 + index, day, { rm: 228 + ((index * 7) % 5), thickness: 1.495 + (index % 3) / 200 });
  }
  addLot(cell, 'L-1', 101, '2031-03-03', { rm: 230, thickness: 1.5 });
  return cell;
}

/** What of the cell lies in the folder of the site, and nothing of its lots. */
export function siteOf({ documents, sheets, files }: Cell): Cell {
  const inSite = <T>(what: Record<string, T>): Record<string, T> =>
    Object.fromEntries(Object.entries(what).filter(([name]) => name.startsWith('site/')));
  return { documents: inSite(documents), sheets: inSite(sheets), files: inSite(files) };
}

export function csvText(rows: readonly Record<string, string>[]): string {
  const names = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  return `${[names, ...rows.map((row) => names.map((name) => row[name] ?? ''))].map((line) => line.join(',')).join('\n')}\n`;
}

export function writeCell(cell: Cell, folder = temporaryFolder('cell')): string {
  const write = (name: string, text: string) => {
    const file = path.join(folder, name);
    fs.mkdirSync(path.dirname(file), { recursive: true });
    fs.writeFileSync(file, text);
  };
  for (const [name, document] of Object.entries(cell.documents)) write(name, stringify(document));
  for (const [name, rows] of Object.entries(cell.sheets)) write(name, csvText(rows));
  for (const [name, text] of Object.entries(cell.files)) write(name, text);
  return folder;
}

const made: string[] = [];

export function removeTemporaryFolders(): void {
  for (const folder of made.splice(0)) fs.rmSync(folder, { recursive: true, force: true });
}

/** A folder that is removed when the suite ends. */
export function temporaryFolder(name: string): string {
  // Whoever makes room on the machine may take the folder of a run away that is under way: one suite loses by it, not all.
  fs.mkdirSync(os.tmpdir(), { recursive: true });
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), `lotwright-${name}-`));
  made.push(folder);
  return folder;
}
