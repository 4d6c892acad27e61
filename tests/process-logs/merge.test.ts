import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import type { LogFinding } from '../../src/dossier/schema.js';
import { packedPath } from '../../src/process-logs/archive/archive-writer.js';
import type { BuildReport, LogSource } from '../../src/process-logs/build-report.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import type { PlannedChannel, ScanPlan } from '../../src/process-logs/plan.js';
import { detailText } from '../../src/report/phrases/log-finding.js';
import { logLines, planFor } from '../support/log-maker.js';

/** Several logs of one build: rotated files, two recorders, copies that overlap, and what they disagree on. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-merge-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const SHAPE = { seed: 21, rows: 3000, channels: 4, gaps: 0.002, repeatedTimes: 0 };
const LINES = [...logLines(SHAPE)];
const PLAN = planFor(SHAPE);

interface Given {
  readonly lines: readonly string[];
  readonly channels?: readonly PlannedChannel[];
  readonly clockOffsetMs?: number;
  readonly gapLimitMs?: number;
  readonly gzip?: boolean;
}

let made = 0;

function source({ lines, channels = PLAN.channels, clockOffsetMs = 0, gapLimitMs, gzip }: Given): LogSource {
  made += 1;
  const file = path.join(folder, `log-${made}`);
  const text = `${lines.join('\n')}\n`;
  fs.writeFileSync(file, gzip ? gzipSync(text) : text);
  return {
    path: file,
    fileName: `logs/${made}.csv`,
    channels,
    clockOffsetMs,
    gapLimitMs: gapLimitMs ?? PLAN.gapLimitMs,
    map: null,
  };
}

const scan = (given: readonly Given[], plan: ScanPlan = PLAN): Promise<BuildReport> =>
  scanBuild({ plan, sources: given.map(source) });

const ruled = (report: BuildReport, rule: string): LogFinding[] =>
  report.part.findings.filter((finding) => finding.rule === rule);

/** Findings without their lines and their identities, which rest on them. */
function withoutLines(report: BuildReport) {
  return report.part.findings.map(({ id: _id, facts: { lineFrom: _from, lineTo: _to, ...facts }, ...rest }) => ({
    ...rest,
    facts,
  }));
}

/** Columns of the log by name, header included. */
function columns(...names: string[]): string[] {
  const header = LINES[0]!.split(',');
  const wanted = names.map((name) => header.indexOf(name));
  return LINES.map((line) => {
    const cells = line.split(',');
    return [...cells.slice(0, 4), ...wanted.map((index) => cells[index]!)].join(',');
  });
}

const channelsNamed = (...names: string[]): PlannedChannel[] =>
  PLAN.channels.filter(({ name }) => names.includes(name));

describe('a log that was cut into files', () => {
  it('gives what the whole log gives, in whatever order the files are named', async () => {
    const whole = await scan([{ lines: LINES }]);
    const [first, second] = [LINES.slice(0, 1200), [LINES[0]!, ...LINES.slice(1200)]];
    for (const files of [
      [first, second],
      [second, first],
    ]) {
      const report = await scan(files.map((lines, index) => ({ lines, gzip: index === 1 })));
      expect(withoutLines(report)).toEqual(withoutLines(whole));
      expect(report.summaries).toEqual(whole.summaries);
      expect(report.part.outlines).toEqual(whole.part.outlines);
      expect(report.rows).toBe(whole.rows);
      expect(report.files.map(({ rows }) => rows).reduce((a, b) => a + b)).toBe(whole.rows);
    }
  });

  it('names no lines, since these would be of one file or another', async () => {
    const report = await scan([{ lines: LINES.slice(0, 1200) }, { lines: [LINES[0]!, ...LINES.slice(1200)] }]);
    expect(report.part.findings.length).toBeGreaterThan(3);
    for (const { facts } of report.part.findings) expect(facts).not.toHaveProperty('lineFrom');
  });

  it('takes rows that stand in both files once, and says over which time they overlap', async () => {
    const whole = await scan([{ lines: LINES }]);
    const report = await scan([{ lines: LINES.slice(0, 1500) }, { lines: [LINES[0]!, ...LINES.slice(1200)] }]);
    const [overlap, ...more] = ruled(report, 'files overlap');
    expect(more).toEqual([]);
    expect([overlap!.startedAt, overlap!.endedAt]).toEqual([LINES[1200]!.split(',')[0], LINES[1499]!.split(',')[0]]);
    expect(overlap!.level).toBe('alert');
    expect(ruled(report, 'files disagree')).toEqual([]);
    expect(withoutLines(report).filter(({ rule }) => rule !== 'files overlap')).toEqual(withoutLines(whole));
  });
});

describe('two files that say different things of one moment', () => {
  const second = LINES.slice(1200).map((line, index) => {
    if (index < 10 || index > 12) return line;
    const cells = line.split(',');
    cells[4] = '999';
    return cells.join(',');
  });
  const given = [{ lines: LINES.slice(0, 1500) }, { lines: [LINES[0]!, ...second] }];

  it('become a finding on action level, with what each says; the first named counts', async () => {
    const report = await scan(given);
    const [finding, ...more] = ruled(report, 'files disagree');
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ level: 'action', channel: 'oxygen', facts: { rows: 3 } });
    expect(finding!.startedAt).toBe(LINES[1210]!.split(',')[0]);
    expect(finding!.facts.what).toMatchObject({ code: 'values', secondValue: 999, ucum: '[ppm]' });
    expect(detailText(finding!.facts.what!)).toMatch(
      /\.csv says [\d.]+ ppm, logs\/\d+\.csv says 999 ppm; the first counts/,
    );
    const largest = Math.max(
      ...report.summaries.filter((row) => row.channel === 'oxygen').map((row) => Number(row.max)),
    );
    expect(largest).toBeLessThan(999);
  });

  it('count the other way round when they are named the other way round', async () => {
    const report = await scan([given[1]!, given[0]!]);
    const largest = Math.max(
      ...report.summaries.filter((row) => row.channel === 'oxygen').map((row) => Number(row.max)),
    );
    expect(largest).toBe(999);
  });

  it('are a finding too where they name another layer or zone', async () => {
    const moved = LINES.slice(1200).map((line) => line.replace(',Z1,', ',Z9,'));
    const report = await scan([{ lines: LINES.slice(0, 1500) }, { lines: [LINES[0]!, ...moved] }]);
    const found = ruled(report, 'files disagree');
    expect(found.length).toBeGreaterThan(0);
    expect(found[0]).toMatchObject({ channel: null });
    expect(found[0]!.facts.what).toMatchObject({
      code: 'places',
      firstPlace: { zone: 'Z1' },
      secondPlace: { zone: 'Z9' },
    });
    expect(detailText(found[0]!.facts.what!)).toMatch(
      /says "Z1", layer \d+, ".+", .+ says "Z9", layer \d+, ".+"; the first counts$/,
    );
  });
});

describe('two recorders', () => {
  it('with a part of the channels each give what one log of all channels gives', async () => {
    const whole = await scan([{ lines: LINES }]);
    const report = await scan([
      { lines: columns('pressure', 'laser-power'), channels: channelsNamed('pressure', 'laser-power') },
      { lines: columns('oxygen', 'moisture'), channels: channelsNamed('oxygen', 'moisture') },
    ]);
    const byChannel = (a: { channel: string | null }, b: { channel: string | null }) =>
      String(a.channel).localeCompare(String(b.channel));
    expect([...report.summaries].sort(byChannel)).toEqual([...whole.summaries].sort(byChannel));
    const findings = (of: BuildReport) =>
      withoutLines(of)
        .map((finding) => JSON.stringify(finding))
        .sort();
    expect(findings(report)).toEqual(findings(whole));
    expect(ruled(report, 'files overlap')).toEqual([]);
  });

  it('hold the value of the slower one until its next, and miss it when it falls silent', async () => {
    const header = 'timestamp,layer,zone,step';
    const at = (second: number) => new Date(Date.UTC(2031, 0, 1, 8, 0, second)).toISOString();
    const fast = Array.from({ length: 61 }, (_, second) => `${at(second)},3,Z1,deposit,300`);
    const slow = [0, 10, 20, 50, 60].map((second) => `${at(second)},,,log,${second === 20 ? 30 : 8}`);
    const plan: ScanPlan = {
      ...PLAN,
      channels: channelsNamed('oxygen', 'laser-power'),
      windows: [
        {
          channel: 'oxygen',
          level: 'action',
          low: null,
          high: 20,
          minimumMs: null,
          integralLimit: null,
          scope: 'closure',
        },
      ],
      nominalPeriodMs: 1000,
      gapLimitMs: 3000,
    };
    const report = await scan(
      [
        { lines: [`${header},laser-power`, ...fast], channels: channelsNamed('laser-power'), gapLimitMs: 3000 },
        { lines: [`${header},oxygen`, ...slow], channels: channelsNamed('oxygen'), gapLimitMs: 15_000 },
      ],
      plan,
    );
    expect(report.rows).toBe(61);
    const [excursion] = ruled(report, 'excursion');
    expect(excursion).toMatchObject({ startedAt: at(20), endedAt: at(36), facts: { worst: 30, durationMs: 16_000 } });
    expect(excursion!.places).toEqual([{ zone: 'Z1', layerFrom: 3, layerTo: 3 }]);
    expect(ruled(report, 'missing values')).toMatchObject([{ startedAt: at(36), endedAt: at(50), channel: 'oxygen' }]);
  });

  it('with different clocks are brought to true time by the offset of each', async () => {
    const whole = await scan([{ lines: LINES }]);
    const late = LINES.map((line, index) => {
      if (index === 0) return line;
      const [time, ...rest] = line.split(',');
      return [new Date(Date.parse(time!) + 90_000).toISOString(), ...rest].join(',');
    });
    const report = await scan([
      { lines: LINES.slice(0, 1200) },
      { lines: [LINES[0]!, ...late.slice(1200)], clockOffsetMs: -90_000 },
    ]);
    expect(report.summaries).toEqual(whole.summaries);
    expect(report.files.map((file) => file.clockOffsetMs)).toEqual([0, -90_000]);
  });

  it('that log one channel in different units are refused where no window sets one', async () => {
    const plain = (ucum: string): PlannedChannel[] => [
      { name: 'flow', ucum: null, loggedUcum: ucum, unitFrom: ['lot file'], dewPoint: null },
    ];
    const lines = ['timestamp,layer,zone,step,flow', '2031-01-01T08:00:00Z,1,Z1,deposit,4'];
    const given = [
      { lines, channels: plain('L/min') },
      { lines, channels: plain('mL/min') },
    ];
    await expect(scan(given)).rejects.toThrow('mL/min');
  });
});

describe('what cannot be read in one of several files', () => {
  it('is counted with its file, and the others go on', async () => {
    const spoilt = [...LINES.slice(0, 1200)];
    spoilt[300] = 'rubbish';
    spoilt[301] = spoilt[290]!;
    const report = await scan([{ lines: spoilt }, { lines: [LINES[0]!, ...LINES.slice(1200)] }]);
    const [first, second] = report.files;
    expect([first!.rejectedRows, second!.rejectedRows]).toEqual([2, 0]);
    expect(report.rejections.map(({ file, line, code }) => [file, line, code])).toEqual([
      [first!.fileName, 301, 'number of fields'],
      [first!.fileName, 302, 'time going back'],
    ]);
    expect(ruled(report, 'time going back')).toHaveLength(1);
  });

  it.each([
    ['has no row', [LINES[0]!]],
    ['has another header', ['time,layer,zone,step,oxygen', ...LINES.slice(1, 5)]],
  ])('refuses all when one file %s, and names it', async (_what, lines) => {
    await expect(scan([{ lines: LINES.slice(0, 100) }, { lines }])).rejects.toThrow(`logs/${made}.csv`);
  });

  it('archives each packed file, and gunzip gives each back', async () => {
    const sources = [{ lines: LINES.slice(0, 1200) }, { lines: [LINES[0]!, ...LINES.slice(1200)] }].map(source);
    const archived = sources.map((item, index) => {
      const packed = path.join(folder, `packed-${index}`);
      fs.writeFileSync(packed, gzipSync(fs.readFileSync(item.path)));
      return { ...item, plain: item.path, path: packed, archive: path.join(folder, `kept-${index}`) };
    });
    await scanBuild({ plan: PLAN, sources: archived });
    for (const { plain, archive } of archived) {
      expect(execFileSync('gunzip', ['-c', packedPath(archive)]).equals(fs.readFileSync(plain))).toBe(true);
    }
  });
});
