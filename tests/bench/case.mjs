// The large lot with all that a case and what comes after the build add to it: designs and acceptances, loads, nonconformities,
// fates and codes; its summary; and a lot folder that is prepared for a further case.
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { assess } from '../../dist/assessment/assess.js';
import { readFacts } from '../../dist/dossier/facts.js';
import { LotPreparer } from '../../dist/prepare/lot-preparer.js';
import { lotMatrix } from '../../dist/report/lot-matrix.js';
import { summaryOf } from '../../dist/report/lot-summary.js';
import { assembleDossier } from '../../dist/store/assemble-dossier.js';
import { IMPLANTS, LOT, prepared, SUMMARY_ROWS, sourceFiles } from './assessment.mjs';

const RUNS = 5;
const NONCONFORMITIES = 50;
/** A case of which nothing is built yet. */
const NEXT = `K-${IMPLANTS}`;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
const range = (length) => Array.from({ length }, (_, index) => index);
const at = (day, time) => `2031-03-${day}T${time}:00+01:00`;
const model = (code) => `solid plate for ${code} (invented)\n`;

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-case-'));
  const { store } = await prepared(path.join(folder, 'large'), SUMMARY_ROWS, files());
  try {
    const frozen = await assembleDossier(store.read, LOT, false);
    const parts = new Map([...frozen.parts].map(([sha256, part]) => [sha256, part.text]));
    const { seconds, facts, assessment } = assessing(frozen, parts);
    return [
      { name: 'assessing the large lot with cases, loads, nonconformities, fates and codes', figure: seconds },
      { name: 'lot summary of 20 implants', figure: summaryMs(facts, assessment) },
      { name: 'prepare a lot for a case', figure: await preparingSeconds(new LotPreparer(store), folder) },
    ];
  } finally {
    await store.close();
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

/** From the texts of the lot file, as the large lot without all this is measured. */
function assessing(frozen, parts) {
  const seconds = [];
  let found;
  for (let run = 0; run < RUNS; run++) {
    const begun = performance.now();
    const facts = readFacts(frozen.dossier, parts);
    found = { facts, assessment: assess(facts, 'bench') };
    seconds.push((performance.now() - begun) / 1000);
  }
  const { facts, assessment } = found;
  const ran = new Set(assessment.checks.filter(({ outcome }) => outcome !== 'does not apply').map(({ code }) => code));
  const asked = ['design-accepted', 'loads-kept', 'nonconformities-closed', 'counts-balance', 'codes-read'];
  const idle = asked.filter((code) => !ran.has(code));
  if (facts.loads.size !== 3 || idle.length > 0) throw new Error(`the lot lacks facts: ${idle.join(', ')}`);
  return { seconds: median(seconds), facts, assessment };
}

/** Processor time. */
function summaryMs(facts, assessment) {
  const serials = assessment.units.map(({ serial }) => serial);
  const taken = range(RUNS).map(() => {
    const before = process.cpuUsage();
    const summary = summaryOf(facts, assessment);
    const rows = lotMatrix(facts, assessment, serials);
    const { user, system } = process.cpuUsage(before);
    if (rows.some(({ cells }) => cells.length !== IMPLANTS) || summary.exceptions.length === 0)
      throw new Error('the summary is not whole');
    return (user + system) / 1000;
  });
  return median(taken);
}

async function preparingSeconds(preparer, folder) {
  const seconds = [];
  for (let run = 0; run < RUNS; run++) {
    const begun = performance.now();
    const { files: written } = await preparer.prepare(NEXT, path.join(folder, `prepared-${run}`));
    seconds.push((performance.now() - begun) / 1000);
    if (!written.includes('build-sheet.pdf')) throw new Error('the folder is not whole');
  }
  return median(seconds);
}

/** Approved elsewhere, with the signed original: nobody has to sign here. */
const approval = { by: 'P-1', at: '2031-01-10T09:00:00+01:00', original: 'approval.txt' };
const APPROVED = new Set(['recipe', 'specification']);

function files() {
  const cases = [...range(IMPLANTS), IMPLANTS].map((index) => `K-${index}`);
  const written = sourceFiles((site, lot) => {
    const further = { ...site.find(({ kind }) => kind === 'case'), case: NEXT };
    const approved = site.map((document) => (APPROVED.has(document.kind) ? { ...document, approval } : document));
    return {
      site: [...approved, further, ...siteOfCases(), ...cases.flatMap(ofCase), ...loads(), ...nonconformities()],
      lot: { ...lot, ...afterBuild() },
    };
  });
  for (const code of cases) {
    written[`site/${code}.stl`] = model(code);
    written[`site/${code}-acceptance.txt`] = `I accept the plate for ${code} (invented)\n`;
  }
  written['site/approval.txt'] = 'approved on paper (invented)\n';
  written[`lots/${LOT}/shelf.txt`] = 'kept on the shelf (invented)\n';
  return written;
}

const siteOfCases = () => [
  {
    ...{ kind: 'design-envelope', format: 1, envelope: 'ENV', revision: 1, title: 'Plates', family: 'PLATE' },
    parameters: [{ parameter: 'length', ucum: 'mm', min: '20', max: '60' }],
    ...{ sites: ['invented'], sides: ['left', 'right'], imageAgeDays: 365, effectiveFrom: '2031-01-11T00:00:00+01:00' },
  },
  {
    ...{ kind: 'software', format: 1, software: 'CAD', revision: 1, title: 'Drawing program', version: '7.1' },
    ...{ use: 'from images to the model', validatedBy: { report: 'SV-1', on: '2030-05-01', by: 'P-1' } },
  },
];

const ofCase = (code) => [
  {
    ...{ kind: 'imaging-set', format: 1, case: code, imagingSet: `IM-${code}`, takenOn: '2031-01-10', modality: 'CT' },
    ...{ sliceMm: '0.6', sha256: 'ab'.repeat(32), received: { by: 'P-1', at: '2031-01-12T09:00:00+01:00' } },
  },
  {
    ...{ kind: 'case-design', format: 1, case: code, revision: 1, title: `Plate for ${code}` },
    envelope: { envelope: 'ENV', revision: 1 },
    parameters: [{ parameter: 'length', value: '42', ucum: 'mm' }],
    ...{ anatomicalSite: 'invented', side: 'left', marking: `${code} L`, model: { file: `${code}.stl`, ucum: 'mm' } },
    zones: [{ zone: 'span', box: { from: { x: '0', y: '0', z: '0' }, to: { x: '42', y: '8', z: '1.5' } } }],
    ...{ recipe: { recipe: 'RC', revision: 1 }, software: [{ software: 'CAD', revision: 1 }] },
    ...{ imagingSets: [`IM-${code}`], designer: 'P-1' },
  },
  {
    ...{ kind: 'design-acceptance', format: 1, case: code, iteration: 1, at: '2031-01-15T12:00:00+01:00' },
    by: { name: 'Dr Example', institution: 'Invented' },
    model: createHash('sha256').update(model(code)).digest('hex'),
    ...{ original: `${code}-acceptance.txt`, enteredBy: 'P-1' },
  },
];

const serials = range(IMPLANTS).map((index) => `S-${index}`);

const loads = () =>
  [
    ['clean', 'CL', '15:00', '15:30'],
    ['pack', 'PA', '16:00', '16:20'],
    ['sterilise', 'ST', '18:00', '19:00'],
  ].map(([step, load, from, to]) => ({
    ...{ kind: 'process-load', format: 1, load, step, equipment: 'M1', by: 'P-1', implants: serials },
    ...{ startedAt: at('03', from), at: at('03', to) },
    cycle: [{ parameter: 'value', value: '26', ucum: 'Cel', min: '20', max: '30' }],
    indicators: [{ what: 'indicator', result: 'passed' }],
  }));

const nonconformities = () =>
  range(NONCONFORMITIES).map((index) => ({
    ...{ kind: 'nonconformity', format: 1, nonconformity: `NC-${index}`, says: `scratch ${index} (invented)` },
    opened: { by: 'P-1', at: at('03', '17:00') },
    touches: [{ kind: 'implant', key: serials[index % IMPLANTS] }],
    evaluation: { by: 'P-1', at: at('03', '17:30'), cause: 'fixture (invented)', riskFile: 'no' },
  }));

const afterBuild = () => ({
  steps: loads().map(({ step, at: when, load }) => ({ step, at: when, by: 'P-1', load })),
  fates: [{ part: serials[0], as: 'retained', at: at('03', '20:00'), by: 'P-1', evidence: 'shelf.txt' }],
  labels: {
    ...{ printed: IMPLANTS, used: IMPLANTS, destroyed: 0, read: serials },
    inspected: { sample: IMPLANTS, by: 'P-1', at: at('03', '20:30') },
  },
});
