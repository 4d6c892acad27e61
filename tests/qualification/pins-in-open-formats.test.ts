import fs from 'node:fs';
import path from 'node:path';
import { gunzipSync } from 'node:zlib';
import type { BadInputError } from '../../src/base/errors.js';
import { Random } from '../../src/base/random.js';
import type { Facts } from '../../src/dossier/facts.js';
import { readDcc } from '../../src/intake/dcc.js';
import { readFolder } from '../../src/intake/read-folder.js';
import { isTrusted, namedSigners } from '../../src/intake/trusted-signers.js';
import { LOG_CHANNELS, type LogRow, logRows } from '../../src/qualification/log.js';
import { PIN_BUILD, PIN_DIMENSIONS, PIN_LOT, PINS, pinMoves } from '../../src/qualification/pins/pin-lot.js';
import { DIMENSIONS_GAUGE, PIN_RIG } from '../../src/qualification/pins/pin-site.js';
import { readDocument } from '../../src/recorder/read-document.js';
import { checkEvidence } from '../../src/verify/check-evidence.js';
import { Steps } from '../../src/verify/report.js';
import { temporaryFolder } from '../support/cell.js';
import { withChangedByte } from '../support/changed-byte.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';

/** What machine and laboratories told of the pins: a stream of MTConnect that was recorded, results by QIF, calibrations by DCC. */

let services: Services;
let facts: Facts;
beforeAll(async () => {
  const { result } = await playedDemo();
  services = await openServices(result.folder);
  ({ facts } = (await services.current.whole(PIN_LOT))!);
});
afterAll(() => services.store.close());

/** An evidence file of the data folder, by its digest. */
function evidenceOf(sha256: string): Buffer {
  const { evidence } = services.store.folder;
  const all = fs.readdirSync(evidence, { recursive: true, encoding: 'utf8' });
  return fs.readFileSync(path.join(evidence, all.find((name) => path.basename(name).startsWith(sha256))!));
}

const HOURS = ['20261109T06Z', '20261109T07Z', '20261109T08Z'];
const planned = () => logRows(PIN_BUILD, new Random(301), new Random(2301));
const placeOf = ({ layer, zone, step }: Pick<LogRow, 'layer' | 'zone' | 'step'>) => `${layer} ${zone} ${step}`;

it('was logged by the recorder, in a file for each hour that holds each number of the agent once', () => {
  const { logs } = facts.dossier;
  expect(logs.map(({ fileName }) => fileName.split('.')[1])).toEqual(HOURS);
  const numbers = logs.flatMap(({ sha256 }) =>
    gunzipSync(evidenceOf(sha256))
      .toString('utf8')
      .split(/(?=<\?xml)/)
      .flatMap((text) => readDocument(Buffer.from(text)).sequences),
  );
  expect(numbers).toEqual(Array.from({ length: numbers.length }, (_, at) => at + 1));
  expect(numbers.length).toBeGreaterThan(planned().length * LOG_CHANNELS.length);
  expect(logs.map(({ mergedWith }) => mergedWith?.length)).toEqual([3, 3, 3]);
});

// What the machine did is known here, without any reading of a stream.
it('comes out of the stream as the machine had it: each place with its rows, and each channel between its least and most', () => {
  const rows = planned();
  expect(facts.dossier.logs.reduce((sum, log) => sum + log.rows, 0)).toBe(rows.length);
  const [build] = facts.lot.body.builds;
  expect(facts.logParts.get(build!.build)!.findings.filter(({ rule }) => rule === 'observations lost')).toEqual([]);
  const told = (channel: string) =>
    facts.summaries
      .filter((row) => row.channel === channel)
      .map(({ layer, zone, step, n, min, max }) => [`${layer} ${zone} ${step}`, n, Number(min), Number(max)]);
  LOG_CHANNELS.forEach((channel, index) => {
    const perMbar = channel === 'chamber_pressure' ? 100 : 1;
    const places = [...new Set(rows.map(placeOf))].map((place) => {
      const values = rows
        .filter((row) => placeOf(row) === place)
        .map(({ values: all }) => Math.round(Number(all[index]) * perMbar * 100) / 100);
      return [place, String(values.length), Math.min(...values), Math.max(...values)];
    });
    expect([channel, told(channel).sort()]).toEqual([channel, places.sort()]);
  });
});

it('has its thickness from a QIF document, each value with its line there, its uncertainty and its gauge', () => {
  const rows = facts.results.filter(({ characteristic }) => characteristic === 'thickness');
  expect(rows.map(({ specimen, file, instrument }) => [specimen, file, instrument])).toEqual(
    PINS.map((serial) => [serial, PIN_DIMENSIONS, DIMENSIONS_GAUGE]),
  );
  for (const { line, value, standardUncertainty, evidence } of rows) {
    const lines = evidenceOf(evidence).toString('utf8').split('\n');
    const said = lines.slice(Number(line) - 1, Number(line) + 12).join('\n');
    expect(said).toMatch(/^\s*<ThicknessCharacteristicMeasurement /);
    expect(said).toContain(`<Value combinedUncertainty="${standardUncertainty}">${value}</Value>`);
  }
});

it.each([
  ['ICP-1', '1'],
  [DIMENSIONS_GAUGE, 'mm'],
  [PIN_RIG, 'N'],
])('has the calibration of %s as a digital certificate that says what its document says', (code, ucum) => {
  expect(facts.results.some(({ instrument }) => instrument === code)).toBe(true);
  const { calibrations, serialNumber } = facts.instruments.get(code)!.body;
  const [calibration] = calibrations;
  const paper = facts.evidence.find(({ fileName }) => path.basename(fileName) === path.basename(calibration!.file!))!;
  const told = readDcc(paper.fileName, evidenceOf(paper.sha256));
  expect(told).toMatchObject({
    ...{ identifier: calibration!.certificate, begins: calibration!.at.slice(0, 10), conformity: ['pass'] },
    ...{ identifications: [serialNumber, code], recalibrateBy: calibration!.due.slice(0, 10) },
  });
  const of = (quantity: string) => told.readings.filter((reading) => reading.quantity === quantity);
  const errors = of('Error of indication');
  expect(errors.length).toBeGreaterThan(1);
  errors.forEach((reading, at) => {
    const off = Number(of('Shown')[at]!.value) - Number(of('Reference')[at]!.value);
    expect(Number(reading.value)).toBeCloseTo(off, 9);
    expect(reading).toMatchObject({ ucum, uncertainty: { is: 'expanded', coverageFactor: '2' } });
  });
});

it('has each certificate signed by a laboratory whose own the cell named, and takes none that was changed after that', async () => {
  const papers = facts.evidence.filter(({ fileName }) => /CAL-.*\.xml$/.test(fileName));
  expect(papers).toHaveLength(3);
  for (const { fileName, sha256 } of papers) {
    const told = readDcc(fileName, evidenceOf(sha256));
    const [signer] = await namedSigners(services.store.read, told);
    expect([told.signatures.length, signer!.supplier, signer!.validity]).toEqual([1, 'EICHWALD', 'valid']);
    expect(isTrusted(signer!)).toBe(true);
  }
  const altered = path.join(services.store.folder.path, 'turned-away/pins');
  const problems = await readFolder(altered).then(
    () => [],
    (error: BadInputError) => error.problems,
  );
  const [name] = fs.readdirSync(path.join(altered, 'equipment/certificates'));
  const lines = fs.readFileSync(path.join(altered, 'equipment/certificates', name!), 'utf8').split('\n');
  expect(problems).toEqual([
    expect.objectContaining({
      ...{ code: 'dcc-signature', file: `equipment/certificates/${name}` },
      ...{ line: 1 + lines.findIndex((line) => line.startsWith('<ds:Signature ')) },
      found: 'another content than the one that was signed',
    }),
  ]);
});

it('holds when its files are looked at again, and one changed byte in any of them is named', async () => {
  const found = async (folder: string) => {
    const steps = new Steps();
    await checkEvidence(facts, folder, steps);
    return steps.list.filter(({ outcome }) => outcome !== 'holds');
  };
  const { evidence } = services.store.folder;
  expect(await found(evidence)).toEqual([]);
  const named = facts.evidence.filter(({ fileName }) => /\.xml\.gz$|\.qif$|CAL-.*\.xml$/.test(fileName));
  expect(named.map(({ fileName }) => path.basename(fileName)).sort()).toEqual([
    ...['CAL-CMM-2-1.xml', 'CAL-ICP-1-1.xml', 'CAL-RIG-2-1.xml'],
    ...facts.dossier.logs.map(({ fileName }) => path.basename(fileName)),
    path.basename(PIN_DIMENSIONS),
  ]);
  for (const { sha256, fileName } of named) {
    expect(await found(withChangedByte(evidence, sha256))).toContainEqual(
      expect.objectContaining({ step: 'evidence', outcome: 'does not hold', facts: { files: [fileName] } }),
    );
  }
});

it('was recorded alike each time, but for the port of the agent', async () => {
  const record = async () => {
    const folder = temporaryFolder('recordings');
    for (const move of pinMoves()) if (move.does === 'record') await move.record(folder);
    return new Map(fs.readdirSync(folder).map((name) => [name, fs.readFileSync(path.join(folder, name))]));
  };
  const [one, two] = [await record(), await record()];
  expect([...one.keys()]).toEqual([...two.keys()]);
  expect(one.size).toBe(HOURS.length + 1);
  for (const [name, bytes] of one) if (name.endsWith('.gz')) expect(bytes.equals(two.get(name)!)).toBe(true);
});
