// Freezing and assessing one large lot: from its parts, in a worker of the service, how freezing grows with the log, and
// with thousands of findings.
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { stringify } from 'yaml';
import { assess } from '../../dist/assessment/assess.js';
import { canonicalJson } from '../../dist/dossier/canonical.js';
import { readFacts } from '../../dist/dossier/facts.js';
import { Intake } from '../../dist/intake/intake.js';
import { CurrentAssessments } from '../../dist/lots/current-assessments.js';
import { LotAssessor } from '../../dist/lots/lot-assessor.js';
import { createApplication } from '../../dist/main.js';
import { assembleDossier } from '../../dist/store/assemble-dossier.js';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';
import '../support/bench-clock.mjs';

const CHARACTERISTICS = 50;
export const IMPLANTS = 20;
const REPLICATES = 2;
export const SUMMARY_ROWS = 200_000;
const FINDINGS = 5000;
const NOISY_ROWS = 1000;
/** Behind thirty a lot file carries as many builds and values as it ever does. */
const FEW_LOTS = 15;
const SOME_LOTS = 30;
const MANY_LOTS = 5000;
const LOTS_AT_ONCE = 50;
const RUNS = 5;
const ANCESTORS = 10_000;
export const LOT = 'L-BENCH';
const ACTOR = 'local:bench';

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-assessment-'));
  try {
    const large = await prepared(path.join(folder, 'large'), SUMMARY_ROWS);
    const small = await prepared(path.join(folder, 'small'), SUMMARY_ROWS / 4);
    const noisy = await prepared(path.join(folder, 'noisy'), NOISY_ROWS);
    const blended = await prepared(path.join(folder, 'blended'), NOISY_ROWS);
    const family = await prepared(path.join(folder, 'family'), NOISY_ROWS);
    try {
      const history = await historyFigures(family);
      const assessing = await assessingSeconds(large);
      const growth = (await freezingSeconds(large)) / (await freezingSeconds(small));
      const delay = await delayMs(large);
      const findings = await noisySeconds(noisy);
      const powder = await blendedSeconds(blended);
      return [
        { name: 'assessing 50 characteristics, 2 000 results and 200 000 log-summary rows', figure: assessing },
        { name: 'freezing, four times the log rows', figure: growth },
        { name: 'event loop while a lot is assessed, 99th percentile', figure: delay },
        { name: 'freezing, assessing and storing a lot with 5 000 log findings', figure: findings },
        { name: 'freezing a lot whose powder has 10 000 ancestors in diamonds', figure: powder },
        { name: 'freezing, independent of the lots of the family', figure: history.time },
        { name: 'lot file with its parts, 5 000 earlier lots of the family', figure: history.size },
      ];
    } finally {
      await large.store.close();
      await small.store.close();
      await noisy.store.close();
      await blended.store.close();
      await family.store.close();
    }
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

async function assessingSeconds({ store }) {
  const frozen = await assembleDossier(store.read, LOT, false);
  const parts = new Map([...frozen.parts].map(([sha256, part]) => [sha256, part.text]));
  if (readFacts(frozen.dossier, parts).summaries.length !== SUMMARY_ROWS) throw new Error('the log is not whole');
  const seconds = [];
  for (let run = 0; run < RUNS; run++) {
    const begun = performance.now();
    const { characteristics } = assess(readFacts(frozen.dossier, parts), 'bench');
    seconds.push((performance.now() - begun) / 1000);
    if (characteristics.length !== IMPLANTS * CHARACTERISTICS) throw new Error('the lot is not whole');
  }
  return median(seconds);
}

/** Each state went into two others, and the lot took of the last. */
async function blendedSeconds({ store }) {
  const { body: first } = await store.read.entries.current('powder-state', 'PS-1');
  await store.change(ACTOR, async (change) => {
    const record = (state, inputs) =>
      change.entries.add({
        kind: 'powder-state',
        key: state,
        name: 'blend',
        body: { ...first, state, operation: 'blend', inputs: inputs.map((input) => ({ state: input, massG: '1' })) },
        links: inputs.map((input) => ({
          name: 'contains powder state',
          to: { kind: 'powder-state', key: input },
          massG: '1',
        })),
      });
    await change.entries.add({
      kind: 'powder-state',
      key: 'D-0',
      name: 'fill',
      body: { ...first, state: 'D-0' },
      links: [],
    });
    await record('D-1', ['D-0']);
    for (let index = 2; index < ANCESTORS; index++) await record(`D-${index}`, [`D-${index - 1}`, `D-${index - 2}`]);
    await record('PS-1', [`D-${ANCESTORS - 1}`, `D-${ANCESTORS - 2}`]);
  });
  const seconds = await freezingSeconds({ store });
  const { dossier } = await assembleDossier(store.read, LOT, false);
  const states = dossier.pinned.filter(({ kind }) => kind === 'powder-state').length;
  if (states !== ANCESTORS + 1) throw new Error(`froze ${states} states of powder`);
  return seconds;
}

async function freezingSeconds({ store }) {
  const seconds = [];
  for (let run = 0; run < RUNS; run++) {
    const begun = performance.now();
    await assembleDossier(store.read, LOT, false);
    seconds.push((performance.now() - begun) / 1000);
  }
  return median(seconds);
}

/** The same lot behind few earlier lots of its family, some, a thousand more than these, and thousands. */
async function historyFigures(prepared) {
  const measured = [];
  let made = 0;
  for (const lots of [FEW_LOTS, SOME_LOTS, SOME_LOTS + 1000, MANY_LOTS]) {
    await recordEarlierLots(prepared, made, lots);
    made = lots;
    const { dossier, body } = await assembleDossier(prepared.store.read, LOT, false);
    if (!dossier.parts.some(({ name }) => name === 'family-history.json')) throw new Error('there is no history');
    const bytes = dossier.parts.reduce((sum, part) => sum + part.bytes, body.length);
    measured.push({ seconds: await freezingSeconds(prepared), bytes });
  }
  const [few, some, more, many] = measured;
  return { time: more.seconds / some.seconds, size: many.bytes / few.bytes };
}

/** Four values of each characteristic, a build a lot, a day after another. */
async function recordEarlierLots({ store }, from, to) {
  // One change of thousands would write the same pages again and again.
  for (let first = from; first < to; first += LOTS_AT_ONCE) {
    const last = Math.min(first + LOTS_AT_ONCE, to);
    await store.change(ACTOR, (change) => recordLots(change, first, last));
  }
}

async function recordLots(change, from, to) {
  const context = {
    ...{ machine: 'M1', recipe: 'RC', recipeRevision: 1, recipeGroup: 'plates', zoneClass: '' },
    ...{ method: 'TM', methodRevision: 1, ucum: 'mm' },
  };
  for (let lot = from; lot < to; lot++) {
    const builtAt = new Date(Date.parse('2011-01-01T00:00:00Z') + lot * 86_400_000).toISOString();
    const rows = range(CHARACTERISTICS).map((item) => ({
      family: 'PLATE',
      characteristic: `c${item}`,
      build: `B-${lot}`,
      builtAt,
      context: canonicalJson(context),
      n: 4,
      mean: 1.5 + (lot % 7) / 1000,
      sumSquaredDeviations: 0.00002,
      min: 1.49,
      max: 1.52,
      censored: 0,
      values: range(4).map((index) => [`S-${lot}-${index}`, '', 1, 1.5 + ((lot + index) % 7) / 1000]),
      takenOut: [],
      beside: {},
    }));
    await change.histories.add(`L-${lot}`, '0'.repeat(64), rows);
  }
}

/** As the service does it: in a worker that also stores, each time with a fact more, while this thread rests. */
async function delayMs({ store, assessor }) {
  const delay = monitorEventLoopDelay({ resolution: 1 });
  for (let run = 0; run < RUNS; run++) {
    await recordScan(store, 'M1-2', run);
    delay.enable();
    await assessor.freeze(LOT, ACTOR);
    delay.disable();
  }
  return delay.percentile(99) / 1e6;
}

/** A new scan with the findings before each run, since unchanged facts store nothing. */
async function noisySeconds({ store, assessor, current }) {
  const seconds = [];
  for (let run = 0; run < RUNS; run++) {
    await recordScan(store, 'M1-1', NOISY_ROWS + 1 + run, range(FINDINGS).map(finding));
    const begun = performance.now();
    await assessor.freeze(LOT, ACTOR);
    seconds.push((performance.now() - begun) / 1000);
  }
  const { facts } = await current.of(LOT);
  const found = facts.logParts.get('M1-1').findings.length;
  if (found !== FINDINGS) throw new Error(`the log has ${found} findings instead of ${FINDINGS}`);
  return median(seconds);
}

/** Of seven channels and two levels, on the implants in turn. */
function finding(index) {
  const at = (ms) => new Date(Date.parse('2031-03-03T05:00:00.000Z') + index * 1000 + ms).toISOString();
  const unit = index % IMPLANTS;
  const layer = 1 + (index % 500);
  return {
    id: createHash('sha256').update(String(index)).digest('hex'),
    build: 'M1-1',
    rule: 'excursion',
    level: index % 11 === 0 ? 'alert' : 'action',
    channel: `c${index % 7}`,
    ucum: 'W',
    startedAt: at(0),
    endedAt: at(500),
    places: [{ zone: `I${unit}-span`, layerFrom: layer, layerTo: layer }],
    steps: ['deposit'],
    facts: { direction: 'high', worst: 60 + (index % 9), limit: 50, durationMs: 500, rows: 5 },
  };
}

/** A folder with the large lot. @param files by their names. */
export async function prepared(folder, rows, files = sourceFiles()) {
  const source = path.join(folder, 'source');
  for (const [name, text] of Object.entries(files)) {
    const file = path.join(source, name);
    fs.mkdirSync(path.dirname(file), { recursive: true });
    fs.writeFileSync(file, text);
  }
  const store = await Store.open(DataFolder.open(path.join(folder, 'data')));
  // Assesses in a worker, as a service does.
  store.becomeService();
  const app = await createApplication(store);
  await app.get(Intake).run(source, ACTOR);
  await recordScan(store, 'M1-1', rows);
  return { store, assessor: app.get(LotAssessor), current: app.get(CurrentAssessments) };
}

/** What the scan of a log leaves in the store, with as many summary rows as asked for. */
async function recordScan(store, build, rows, findings = []) {
  const [{ sha256 }] = await store.read.entries.evidenceNamedBy([{ kind: 'lot', key: LOT, revision: 1 }]);
  const facts = {
    build,
    fileName: 'run.csv',
    sha256,
    textSha256: sha256,
    bytes: 1,
    rows,
    rejectedRows: 0,
    firstAt: null,
    lastAt: null,
    scanner: 'bench',
    planSha256: String(rows).padEnd(64, '0'),
  };
  const part = { build, findings, outlines: [], gaps: [] };
  const summaries = Array.from({ length: rows }, (_, index) => summaryRow(build, index));
  await store.change(ACTOR, (change) => change.logs.add(LOT, { files: [facts], part, summaries }));
}

const summaryRow = (build, index) => ({
  build,
  layer: String(1 + (index % 500)),
  zone: `I${index % IMPLANTS}-span`,
  step: index % 2 === 0 ? 'deposit' : 'peen',
  channel: `c${index % 20}`,
  ucum: 'W',
  n: '120',
  min: '298.125',
  max: '305.875',
  mean: '301.0625',
  timeWeightedMean: '301.03125',
  sd: '1.75',
  observedMs: '12000',
  outsideMs: '0',
});

const range = (length) => Array.from({ length }, (_, index) => index);

/** @param add adds to the documents of the site, or to the lot. */
export function sourceFiles(add = (site, lot) => ({ site, lot })) {
  const { site, lot } = add(documentsOfCell(), lotDocument());
  const documents = Object.fromEntries(site.map((document, index) => [`site/${index}.yaml`, stringify(document)]));
  return {
    ...documents,
    [`lots/${LOT}/lot.yaml`]: stringify(lot),
    [`lots/${LOT}/attached.txt`]: 'stands for a log\n',
    [`lots/${LOT}/results/all.csv`]: resultSheet(),
  };
}

const EFFECTIVE = '2031-01-11T00:00:00+01:00';

function documentsOfCell() {
  const format = 1;
  const power = { parameter: 'laser power', set: '300', ucum: 'W', unlogged: 'power check (invented)' };
  const step = { step: 'deposit', everyLayers: 1, parameters: [power] };
  const window = { channel: 'oxygen', ucum: '[ppm]', above: { action: '50' } };
  return [
    { kind: 'person', format, person: 'P-1', name: 'Ada Example', function: 'does everything' },
    { kind: 'machine', format, machine: 'M1', title: 'Cell', location: 'here', does: ['deposit'] },
    { kind: 'supplier', format, supplier: 'S1', title: 'Powders' },
    {
      kind: 'family',
      format,
      family: 'PLATE',
      revision: 1,
      title: 'Plate',
      alloy: 'Mg',
      intendedUse: 'none',
      route: 'custom-made',
      sterile: 'non-sterile',
      lifetime: { years: 5, basis: 'invented' },
      effectiveFrom: EFFECTIVE,
    },
    {
      kind: 'receipt',
      format,
      receipt: 'R-1',
      supplier: 'S1',
      material: 'powder',
      category: 'powder',
      supplierLot: 'A',
      receivedAt: EFFECTIVE,
      status: 'quarantine',
    },
    {
      kind: 'powder-state',
      format,
      state: 'PS-1',
      operation: 'fill',
      madeAt: EFFECTIVE,
      madeBy: 'P-1',
      inputs: [{ receipt: 'R-1', massG: '2000' }],
    },
    { kind: 'instrument', format, instrument: 'I-1', title: 'Gauge', measures: 'length' },
    {
      kind: 'method',
      format,
      method: 'TM',
      revision: 1,
      title: 'Gauge',
      destructive: 'non-destructive',
      effectiveFrom: EFFECTIVE,
    },
    {
      kind: 'recipe',
      format,
      recipe: 'RC',
      revision: 1,
      title: 'Recipe',
      group: 'plates',
      family: 'PLATE',
      machine: 'M1',
      effectiveFrom: EFFECTIVE,
      chamber: { windows: [window], inertChannels: ['oxygen'], joinBreaksWithinS: '5' },
      zones: [{ zone: 'span', title: 'span', class: 'span', layers: { from: 1, to: 500 }, steps: [step] }],
    },
    {
      kind: 'specification',
      format,
      specification: 'SP',
      revision: 1,
      title: 'Specification',
      family: 'PLATE',
      effectiveFrom: EFFECTIVE,
      characteristics: range(CHARACTERISTICS).map(characteristic),
      pooling: { recipeGroups: ['plates'], machines: ['M1'], methodRevisions: 'same', rationale: 'invented' },
    },
    ...range(IMPLANTS).map((index) => ({
      kind: 'case',
      format,
      case: `K-${index}`,
      family: 'PLATE',
      neededBy: '2031-12-01',
      designIteration: 1,
      anatomicalSite: 'invented',
      side: 'left',
      prescriber: { name: 'Dr Example', institution: 'Invented' },
      prescription: { reference: `RX-${index}`, at: EFFECTIVE },
    })),
  ];
}

const PLANS = ['every-unit', { rule: 'tolerance-interval', confidence: '0.95', reliability: '0.95' }];

const characteristic = (index) => ({
  characteristic: `c${index}`,
  title: `Length ${index}`,
  ucum: 'mm',
  method: { method: 'TM', revision: 1 },
  measuredOn: 'implant',
  replicates: REPLICATES,
  lower: '1.45',
  upper: '1.55',
  direction: 'nominal-is-best',
  decision: index % 2 === 0 ? { rule: 'simple' } : { rule: 'guarded', confidence: '0.95' },
  rounding: { rule: 'absolute' },
  due: 'before-release',
  plan: PLANS[index % PLANS.length],
});

function lotDocument() {
  const at = (time) => `2031-03-03T${time}:00+01:00`;
  const build = (run, from, to) => ({
    build: `M1-${run}`,
    machine: 'M1',
    run,
    closedAt: at(from),
    openedAt: at(to),
    operator: 'P-1',
    powder: [{ state: 'PS-1', chargedG: '180' }],
  });
  return {
    kind: 'lot',
    format: 1,
    lot: LOT,
    family: 'PLATE',
    specification: { specification: 'SP', revision: 1 },
    opened: { by: 'P-1', at: at('05:00') },
    builds: [build(1, '06:00', '12:00'), build(2, '13:00', '14:00')],
    implants: range(IMPLANTS).map((index) => ({
      serial: `S-${index}`,
      case: `K-${index}`,
      designIteration: 1,
      build: 'M1-1',
      recipe: { recipe: 'RC', revision: 1 },
      zones: [{ zone: `I${index}-span`, recipeZone: 'span', layers: { from: 1, to: 500 } }],
    })),
    attachments: [{ file: 'attached.txt', title: 'stands for a log' }],
  };
}

function resultSheet() {
  const head =
    'specimen,characteristic,replicate,value,ucum,standardUncertainty,measuredAt,instrument,analyst,method,methodRevision';
  const rows = range(IMPLANTS).flatMap((unit) =>
    range(CHARACTERISTICS).flatMap((item) =>
      range(REPLICATES).map(
        (replicate) =>
          `S-${unit},c${item},${replicate + 1},1.5${(unit + item + replicate) % 10},mm,0.004,2031-03-04T09:00:00+01:00,I-1,P-1,TM,1`,
      ),
    ),
  );
  return `${[head, ...rows].join('\n')}\n`;
}
