import fs from 'node:fs';
import path from 'node:path';
import { vi } from 'vitest';
import { BadInputError } from '../../src/base/errors.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { assessmentInWords } from '../../src/report/assessment-words.js';
import { checkEvidence } from '../../src/verify/check-evidence.js';
import { Steps } from '../../src/verify/report.js';
import { addLot, type Cell, logText, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { event, type MadeObservation, sample, streamsDocument } from '../support/mtconnect-maker.js';
import { servicesWith } from '../support/record-content.js';
import { openServices, type Services } from '../support/services.js';
import { until } from '../support/until.js';

/** Logs on their way from a lot folder into the store, and again from the evidence. */

const LOT = 'lots/L-1/lot.yaml';
const LOG = 'lots/L-1/logs/run.csv';
const DAY = '2031-03-03';

let services: Services;
beforeEach(async () => {
  services = await openServices(path.join(temporaryFolder('data'), 'data'));
});
afterEach(() => services.store.close());

/** Begins with the cell as it is, which was taken in once a run. */
async function withCellTakenIn(): Promise<void> {
  await services.store.close();
  services = await servicesWith(makeCell());
}

const take = (cell: Cell) => services.intake.run(writeCell(cell), 'local:tester');

async function evidenceSteps(lot = 'L-1') {
  const { facts } = await services.assessor.assess(lot, 'local:tester');
  const steps = new Steps();
  await checkEvidence(facts, services.store.folder.evidence, steps);
  return steps.list.map(({ step, of = '', outcome }) => [step, of, outcome]);
}

const HOLDS = [
  ['evidence', '', 'holds'],
  ['log', 'M1-101', 'holds'],
];

function splitLog(cell: Cell, at: number): Cell {
  const [header, ...rows] = cell.files[LOG]!.trimEnd().split('\n');
  cell.files[LOG] = `${[header, ...rows.slice(0, at)].join('\n')}\n`;
  cell.files['lots/L-1/logs/later.csv'] = `${[header, ...rows.slice(at)].join('\n')}\n`;
  cell.documents[LOT]!.builds[0].log.more = [
    { file: 'logs/later.csv', channels: [{ channel: 'oxygen', ucum: '[ppm]' }] },
  ];
  return cell;
}

describe('a folder that changes while it is taken in', () => {
  it('is refused by name when it is only checked, and nothing holds what was read', async () => {
    const folder = writeCell(makeCell());
    const source = path.join(folder, LOG);
    const onProgress = () => fs.appendFileSync(source, 'x');
    const checked = services.intake.run(folder, 'local:tester', { check: true, onProgress });
    await expect(checked).rejects.toMatchObject({ problems: [{ code: 'file-changed', file: LOG }] });
  });

  it('keeps the bytes in which the findings were found, although the recorder goes on writing', async () => {
    const folder = writeCell(makeCell());
    const source = path.join(folder, LOG);
    const more = `${new Date(Date.parse(`${DAY}T08:02:01+01:00`)).toISOString()},4,W2-span,peen,900\n`;
    const onProgress = () => fs.appendFileSync(source, more);
    await services.intake.run(folder, 'local:tester', { onProgress });
    expect(fs.readFileSync(source, 'utf8')).toContain(more);
    const [log] = await services.store.read.logs.ofLot('L-1');
    await services.store.evidence.verify(log!.facts.sha256);
    expect(log!.facts).toMatchObject({ rows: 121, bytes: Buffer.byteLength(makeCell().files[LOG]!) });
    expect(await evidenceSteps()).toEqual(HOLDS);
    expect((await checkIntegrity(services.store)).unreferenced).toEqual([]);
  });

  it('is refused, with the sheet named, when a table is no longer what was checked', async () => {
    const folder = writeCell(makeCell());
    const sheet = path.join(folder, 'lots/L-1/results/size.csv');
    const { ledger } = services.store.read;
    const size = ledger.size.bind(ledger);
    vi.spyOn(ledger, 'size').mockImplementationOnce(() => {
      fs.writeFileSync(sheet, fs.readFileSync(sheet, 'utf8').replace('1.5', '1.4'));
      return size();
    });
    await expect(services.intake.run(folder, 'local:tester')).rejects.toMatchObject({
      problems: [{ code: 'file-changed', file: 'lots/L-1/results/size.csv' }],
    });
    expect(await services.store.read.entries.list('lot')).toEqual([]);
    expect(await services.store.evidence.list()).toEqual([]);
    expect(fs.readdirSync(path.join(services.store.folder.evidence, 'incoming'))).toEqual([]);
  });

  it('leaves no copy behind when a log cannot be used', async () => {
    const cell = makeCell();
    cell.files[LOG] = 'no,header\n';
    await expect(take(cell)).rejects.toMatchObject({ code: 'BAD_INPUT' });
    expect(await services.store.evidence.list()).toEqual([]);
    expect(fs.readdirSync(path.join(services.store.folder.evidence, 'incoming'))).toEqual([]);
  });
});

describe('several logs of one build', () => {
  it('are taken in together, give what one log gives, and verify from the evidence', async () => {
    await withCellTakenIn();
    const [whole] = await services.store.read.logs.ofLot('L-1');
    await services.store.close();
    services = await openServices(path.join(temporaryFolder('data'), 'data'));
    const report = await take(splitLog(makeCell(), 50));
    expect(report.logs).toMatchObject([{ build: 'M1-101', file: 'logs/run.csv, logs/later.csv', rows: 121 }]);
    const [log] = await services.store.read.logs.ofLot('L-1');
    expect(log!.files.map(({ fileName, rows }) => [fileName, rows])).toEqual([
      ['logs/run.csv', 50],
      ['logs/later.csv', 71],
    ]);
    expect(log!.part.outlines).toEqual(whole!.part.outlines);
    expect(await services.store.read.logs.summaries(log!)).toEqual(await services.store.read.logs.summaries(whole!));
    expect(await evidenceSteps()).toEqual(HOLDS);
    expect((await services.store.verifyLedger()).ok).toBe(true);
  });

  it('store nothing when they are taken in again, and a new scan when one more is named', async () => {
    await withCellTakenIn();
    const cell = splitLog(makeCell(), 50);
    cell.documents[LOT]!.reason = 'the recorder had begun a second file';
    expect((await take(cell)).logs).toHaveLength(1);
    const size = await services.store.read.ledger.size();
    expect((await take(cell)).logs).toEqual([]);
    expect(await services.store.read.ledger.size()).toBe(size);
    expect((await services.store.read.logs.ofLot('L-1'))[0]!.files).toHaveLength(2);
  });

  it('are refused when one of them is the log of another build', async () => {
    await withCellTakenIn();
    const cell = makeCell();
    addLot(cell, 'L-2', 102, '2031-03-02', { rm: 230, thickness: 1.5 });
    cell.files['lots/L-2/logs/more.csv'] = cell.files[LOG]!;
    cell.documents['lots/L-2/lot.yaml']!.builds[0].log.more = [
      { file: 'logs/more.csv', channels: [{ channel: 'oxygen', ucum: '[ppm]' }] },
    ];
    const error = await take(cell).catch((caught: unknown) => caught);
    expect((error as BadInputError).problems).toMatchObject([
      { code: 'log-of-another-build', file: 'lots/L-2/lot.yaml', field: 'builds[0].log.more[0].file' },
    ]);
    expect(await services.store.read.logs.ofLot('L-2')).toEqual([]);
  });
});

describe('a log that a machine wrote in the open standard', () => {
  const MAP = {
    kind: 'channel-map',
    format: 1,
    map: 'CM-1',
    revision: 1,
    title: 'Hybrid cell 1',
    machine: 'M1',
    source: 'MTConnect streams',
    channels: [{ dataItem: 'o2', channel: 'oxygen', ucum: '[ppm]' }],
    place: { layer: 'ln', zone: 'zn', step: 'st' },
    everySequence: 'yes',
  };

  function streamCell(): Cell {
    const cell = makeCell();
    const observations: MadeObservation[] = [];
    let before: (string | undefined)[] = [];
    for (const line of cell.files[LOG]!.trimEnd().split('\n').slice(1)) {
      const [time, layer, zone, step, oxygen] = line.split(',') as [string, string, string, string, string];
      const number = () => observations.length + 1;
      if (layer !== before[0]) observations.push(event('LayerNumber', 'ln', time, number(), layer));
      if (zone !== before[1]) observations.push(event('ZoneName', 'zn', time, number(), zone));
      if (step !== before[2]) observations.push(event('Execution', 'st', time, number(), step));
      observations.push(sample('o2', time, number(), oxygen));
      before = [layer, zone, step];
    }
    delete cell.files[LOG];
    cell.files['lots/L-1/logs/stream.xml'] = streamsDocument({ observations });
    cell.documents['site/map.yaml'] = structuredClone(MAP);
    Object.assign(cell.documents[LOT]!.builds[0].log, {
      file: 'logs/stream.xml',
      map: { map: 'CM-1', revision: 1 },
      channels: [{ channel: 'oxygen' }],
    });
    return cell;
  }

  it('gives the findings and summaries of the same values in CSV, and verifies from the evidence', async () => {
    await withCellTakenIn();
    const [csv] = await services.store.read.logs.ofLot('L-1');
    const csvSummaries = await services.store.read.logs.summaries(csv!);
    await services.store.close();
    services = await openServices(path.join(temporaryFolder('data'), 'data'));
    await take(streamCell());
    const [log] = await services.store.read.logs.ofLot('L-1');
    expect(log!.part.findings).toEqual(csv!.part.findings);
    expect(await services.store.read.logs.summaries(log!)).toEqual(csvSummaries);
    expect(await evidenceSteps()).toEqual(HOLDS);
  });

  it('is refused without its map, and where map and lot file do not agree', async () => {
    const without = streamCell();
    delete without.documents['site/map.yaml'];
    await expect(take(without)).rejects.toThrow('channel map CM-1 revision 1');
    const other = streamCell();
    other.documents[LOT]!.builds[0].log.channels = [{ channel: 'oxygen', ucum: '%' }];
    await expect(take(other)).rejects.toThrow(BadInputError);
    const unknown = streamCell();
    unknown.documents['site/map.yaml']!.channels[0].channel = 'argon';
    await expect(take(unknown)).rejects.toThrow('no oxygen in channel map CM-1');
    expect(await services.store.read.entries.list('lot')).toEqual([]);
  });

  it('is refused with its line when it is not what it should be', async () => {
    const cell = streamCell();
    cell.files['lots/L-1/logs/stream.xml'] = cell.files['lots/L-1/logs/stream.xml']!.replace(' sequence="4"', '');
    const error = await take(cell).catch((caught: unknown) => caught);
    expect((error as BadInputError).problems).toMatchObject([
      { code: 'mtconnect-attribute', file: 'logs/stream.xml', line: 8 },
    ]);
  });
});

describe('rows that name no layer, zone or step', () => {
  /** Two minutes of purging before the build, by the recorder of a machine that leaves the place blank. */
  function purgedCell(oxygen: (second: number) => number | string): Cell {
    const cell = makeCell();
    const [build] = cell.documents[LOT]!.builds;
    const start = Date.parse(build.closedAt) - 120_000;
    build.closedAt = new Date(start).toISOString();
    const purge = Array.from({ length: 120 }, (_, at) => {
      return `${new Date(start + at * 1000).toISOString()},,,,${oxygen(at)}\n`;
    });
    cell.files[LOG] = cell.files[LOG]!.replace('\n', `\n${purge.join('')}`);
    return cell;
  }

  it('count as rows, and a reject excursion in them fails every implant', async () => {
    const report = await take(purgedCell((at) => (at >= 40 && at < 60 ? 950 : 8)));
    expect(report.logs).toMatchObject([{ rows: 241, rejected: {}, firstRejected: null }]);
    const [log] = await services.store.read.logs.ofLot('L-1');
    expect(log!.part.findings.map(({ rule, level }) => [rule, level])).toEqual([
      ['break of inert atmosphere', 'alert'],
      ['excursion', 'alert'],
      ['excursion', 'action'],
      ['excursion', 'reject'],
    ]);
    const { assessment } = await services.assessor.assess('L-1', 'local:tester');
    expect(assessment.units.map(({ verdict }) => verdict)).toEqual(['does not conform', 'does not conform']);
  });

  it('leave every implant undecided when they cannot be read, and are counted', async () => {
    const report = await take(purgedCell((at) => (at >= 40 && at < 42 ? 'ERR' : 8)));
    expect(report.logs).toMatchObject([
      { rows: 239, rejected: { number: 2 }, firstRejected: { line: 42, field: 'oxygen', found: '"ERR"' } },
    ]);
    const { assessment } = await services.assessor.assess('L-1', 'local:tester');
    for (const { why } of assessmentInWords(assessment).units) {
      expect(why.map(({ says }) => says)).toContainEqual(expect.stringContaining('rows rejected: number, for 3 s'));
    }
  });
});

describe('builds', () => {
  /** M1-100 was interrupted after layer 2; M1-101 made the rest. */
  function continuedCell(): Cell {
    const cell = makeCell();
    const [build] = cell.documents[LOT]!.builds;
    const [header, ...rows] = cell.files[LOG]!.trimEnd().split('\n');
    const isEarly = (row: string) => Number(row.split(',')[1]) <= 2;
    const from = rows.findIndex((row) => !isEarly(row));
    cell.files['lots/L-1/logs/first.csv'] = `${[header, ...rows.slice(0, from)].join('\n')}\n`;
    cell.files[LOG] = `${[header, ...rows.slice(from)].join('\n')}\n`;
    const borders = [rows[from - 1]!, rows[from]!].map((row) => row.split(',')[0]!);
    cell.documents[LOT]!.builds = [
      { ...build, build: 'M1-100', run: 100, openedAt: borders[0], log: { ...build.log, file: 'logs/first.csv' } },
      { ...build, closedAt: borders[1], continues: { build: 'M1-100', fromLayer: 3 } },
    ];
    return cell;
  }

  it('that continue an interrupted one are expected to make the rest, and findings in either touch the implants', async () => {
    const cell = continuedCell();
    cell.files['lots/L-1/logs/first.csv'] = cell.files['lots/L-1/logs/first.csv']!.replaceAll(
      /,(1,I1-span,deposit),8\n/g,
      ',$1,75\n',
    );
    await take(cell);
    const logs = await services.store.read.logs.ofLot('L-1');
    const rules = logs.flatMap(({ part }) => part.findings.map(({ rule }) => rule));
    expect(rules).not.toContain('layers never logged');
    expect(rules).toContain('excursion');
    const { assessment } = await services.assessor.assess('L-1', 'local:tester');
    const touched = assessmentInWords(assessment).units.find(({ serial }) => serial === 'L-1-I1')!;
    expect(touched.why.some(({ says }) => says.includes('excursion of oxygen') && says.includes('M1-100'))).toBe(true);
  });

  it.each([
    ['another lot', { build: 'M1-55', fromLayer: 3 }],
    ['itself', { build: 'M1-101', fromLayer: 3 }],
  ])('cannot continue a build of %s', async (_what, continues) => {
    const cell = makeCell();
    cell.documents[LOT]!.builds[0].continues = continues;
    await expect(take(cell)).rejects.toThrow('an earlier build that this file declares');
  });

  it('cannot continue a build that was opened later, nor one that another continues', async () => {
    const late = continuedCell();
    late.documents[LOT]!.builds[0].openedAt = '2031-03-03T09:00:00+01:00';
    await expect(take(late)).rejects.toThrow('a build that was opened before');
    const twice = continuedCell();
    const [, second] = twice.documents[LOT]!.builds;
    twice.documents[LOT]!.builds.push({ ...second, build: 'M1-102', run: 102 });
    await expect(take(twice)).rejects.toThrow('each build continued by one');
  });

  it('that yielded nothing are registered with their log', async () => {
    const cell = makeCell();
    const lot = cell.documents[LOT]!;
    Object.assign(lot, { implants: [], coupons: [] });
    for (const sheet of Object.keys(cell.sheets)) delete cell.sheets[sheet];
    cell.files[LOG] = logText(DAY, () => 8)
      .split('\n')
      .slice(0, 40)
      .join('\n')
      .concat('\n');
    await take(cell);
    const [log] = await services.store.read.logs.ofLot('L-1');
    expect(log!.part.findings.map(({ rule }) => rule)).toContain('log ends early');
    const { assessment } = await services.assessor.assess('L-1', 'local:tester');
    expect(assessment.units).toEqual([]);
    expect(await services.store.read.entries.current('build', 'M1-101')).toBeDefined();
  });
});

describe('scans', () => {
  const jobs = () => services.store.read.scanJobs.ofBuild('L-1', 'M1-101');

  it('are told with their progress, and leave a whole archive behind', async () => {
    const told: number[] = [];
    await services.intake.run(writeCell(makeCell()), 'local:tester', {
      onProgress: (_file, { doneBytes, totalBytes }) => told.push(doneBytes / totalBytes),
    });
    expect(told.at(-1)).toBe(1);
    expect(await jobs()).toMatchObject([{ state: 'done', error: null }]);
    const [log] = await services.store.read.logs.ofLot('L-1');
    expect(services.store.archives.has(log!.facts.sha256)).toBe(true);
    expect(fs.readdirSync(path.join(services.store.folder.archives, 'incoming'))).toEqual([]);
  });

  it('keep no raw rows of a log whose bytes were removed, also when it is taken in again', async () => {
    await withCellTakenIn();
    const [log] = await services.store.read.logs.ofLot('L-1');
    const { sha256 } = log!.facts;
    services.store.archives.remove(sha256);
    expect(services.store.archives.has(sha256)).toBe(false);
    await services.store.evidence.redact({
      format: 1,
      sha256,
      redactedAt: '2031-03-04T08:00:00Z',
      persons: ['P-1', 'P-2'],
    });
    await take(makeCell());
    expect(services.store.archives.has(sha256)).toBe(false);
  });

  it('leave nothing at all behind when only checked, or when the folder is refused', async () => {
    await services.intake.run(writeCell(makeCell()), 'local:tester', { check: true });
    expect(await jobs()).toEqual([]);
    const cell = makeCell();
    cell.files[LOG] = 'not a log\n';
    await expect(take(cell)).rejects.toThrow(BadInputError);
    expect(await jobs()).toMatchObject([{ state: 'failed' }]);
    expect(fs.readdirSync(path.join(services.store.folder.archives, 'incoming'))).toEqual([]);
    expect(await services.store.read.entries.list('lot')).toEqual([]);
  });

  it('end when they are cancelled, and nothing of the lot is stored', async () => {
    await expect(
      services.intake.run(writeCell(makeCell()), 'local:tester', { signal: AbortSignal.abort() }),
    ).rejects.toThrow(/abort/i);
    expect((await jobs())[0]).toMatchObject({ state: 'cancelled' });
  });

  const wanted = { lot: 'L-1', build: 'M1-101', fileName: 'logs/run.csv', evidence: '', totalBytes: 100 };

  it('are of one process at a time, as long as it lives', async () => {
    await services.store.scanJobs.claim(wanted);
    await expect(take(makeCell())).rejects.toMatchObject({ code: 'BUSY' });
    expect(await services.store.read.entries.list('lot')).toEqual([]);
  });

  it('are taken over when their process has not renewed its lease', async () => {
    const claim = await services.store.scanJobs.claim(wanted);
    await claim.release();
    await take(makeCell());
    expect(await jobs()).toMatchObject([{ id: claim.id, state: 'done' }]);
    // The process that was thought dead learns that the scan is no longer its own, and ends nothing.
    await claim.end('failed', 'late');
    expect(await jobs()).toMatchObject([{ id: claim.id, state: 'done', error: null }]);
  });

  it('of a killed intake are called interrupted by the service, since nothing of them was stored', async () => {
    const claim = await services.store.scanJobs.claim(wanted);
    await claim.release();
    await services.rescans.runLeft();
    expect(await jobs()).toMatchObject([{ state: 'interrupted' }]);
  });

  it('that a killed service left are finished by the next start', async () => {
    await withCellTakenIn();
    const before = await services.store.read.logs.ofLot('L-1');
    const { sha256 } = before[0]!.facts;
    services.store.archives.remove(sha256);
    const claim = await services.store.scanJobs.claim({ ...wanted, evidence: sha256 });
    await claim.release();
    services.rescans.start();
    await until(async () => (await jobs())[0]!.state === 'done');
    await services.rescans.close();
    expect(await jobs()).toMatchObject([{ id: claim.id, state: 'done' }, { state: 'done' }]);
    expect(await services.store.read.logs.ofLot('L-1')).toEqual(before);
    expect(services.store.archives.has(sha256)).toBe(true);
  });
});
