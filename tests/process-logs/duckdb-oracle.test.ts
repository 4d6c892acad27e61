import { LogScanner } from '../../src/process-logs/scanner.js';
import { LOG_START_MS, type LogShape, logLines, planFor, random } from '../support/log-maker.js';
import { type SqlScan, scanBySql } from '../support/log-sql.js';

/**
 * The scanner against DuckDB, an independent database (general-purpose, open source): the same rules in SQL on logs of
 * three seeds, into which faults were put: damaged cells and lines, clocks that go back, gaps, blanks, repeated times.
 */

const SHAPES: LogShape[] = [
  { seed: 21, rows: 3000 },
  { seed: 22, rows: 3000, channels: 5, rowsPerStep: 7, repeatedTimes: 0.02, blanks: 0.02 },
  { seed: 23, rows: 2500, zones: 2, gaps: 0.01, excursions: 0.01, unitRow: true },
];

const MANY = 0.01;

/** Spoils one line in a hundred, in one of five ways that must each be told apart. */
function damaged(shape: LogShape): string {
  const next = random(shape.seed * 7919);
  const lines = [...logLines(shape)].map((line, index) => {
    if (index < 2 || next() > MANY) return line;
    const cells = line.split(',');
    const channel = 4 + Math.floor(next() * (cells.length - 4));
    switch (Math.floor(next() * 5)) {
      case 0:
        cells[channel] = 'ERR';
        break;
      case 1:
        cells[1] = '1.6';
        break;
      case 2:
        cells[0] = cells[0]!.slice(0, -1);
        break;
      case 3:
        cells.pop();
        break;
      default:
        cells[0] = new Date(Date.parse(cells[0]!) - 60_000 - Math.floor(next() * 60_000)).toISOString();
    }
    return cells.join(',');
  });
  return `${lines.join('\n')}\n`;
}

describe.each(SHAPES)('seed $seed', (shape) => {
  const text = damaged(shape);
  // A second window on oxygen with other terms, so that two runs lie over each other at one level.
  const usual = planFor(shape);
  const wide = {
    channel: 'oxygen',
    level: 'reject',
    low: null,
    high: 40,
    minimumMs: null,
    integralLimit: null,
  } as const;
  const plan = { ...usual, windows: [...usual.windows, { ...wide, scope: 'closure' as const }] };
  const scanner = new LogScanner(plan, 'log.csv');
  scanner.push(Buffer.from(text));
  const result = scanner.end();
  const findings = (rule: string) => result.part.findings.filter((finding) => finding.rule === rule);
  const spans = (list: readonly { startedAt: string | null; endedAt: string | null }[]) =>
    list.map(({ startedAt, endedAt }) => ({ startMs: Date.parse(startedAt!), endMs: Date.parse(endedAt!) }));
  let sql: SqlScan;
  beforeAll(async () => {
    sql = await scanBySql(text, plan);
  });

  it('rejects the same lines for the same reasons', () => {
    expect(sql.rejected.length).toBeGreaterThan(10);
    expect(result.rejections.map(({ line, code }) => ({ line, code }))).toEqual(sql.rejected);
    expect(result.rejectedRows).toBe(sql.rejected.length);
  });

  it('counts the same rows, blank cells and NaN, from the same first to the same last time', () => {
    expect(sql.firstMs).toBe(LOG_START_MS);
    expect([result.rows, Date.parse(result.firstAt), Date.parse(result.lastAt)]).toEqual([
      sql.rows,
      sql.firstMs,
      sql.lastMs,
    ]);
    const sum = (of: 'blank' | 'notANumber') => result.channels.reduce((total, counts) => total + counts[of], 0);
    expect([sum('blank'), sum('notANumber')]).toEqual([sql.blank, sql.notANumber]);
  });

  it('finds the same gaps and repeated times', () => {
    expect(spans(result.part.gaps)).toEqual(sql.gaps);
    const [repeated] = findings('duplicate time');
    expect(repeated?.facts.rows ?? 0).toBe(sql.repeatedTimes);
  });

  it('finds the same excursions and missing values: when, where, how many rows, how far, which lines', () => {
    const found = [...findings('excursion'), ...findings('missing values')].map((finding) => {
      const { facts, places } = finding;
      const from = Math.min(...places.map((place) => place.layerFrom!));
      const to = Math.max(...places.map((place) => place.layerTo!));
      return {
        ...{ rule: finding.rule, level: finding.level, channel: finding.channel, direction: facts.direction ?? null },
        ...spans([finding])[0]!,
        ...{ durationMs: facts.durationMs, rows: facts.rows, worst: facts.worst ?? null },
        ...{ lineFrom: facts.lineFrom, lineTo: facts.lineTo },
        zones: places.map((place) => place.zone).join(' '),
        layers: `${from}-${to}`,
      };
    });
    const order = (run: object) => JSON.stringify(Object.entries(run).sort());
    const expected = sql.runs.map(({ integralS: _, ...run }) => order(run));
    expect(expected.length).toBeGreaterThan(40);
    expect(found.map(order).sort()).toEqual(expected.sort());
  });

  it('gives the same integrals', () => {
    const key = (run: { level: string; channel: string | null; limit?: unknown }, startMs: number, rows: unknown) =>
      [run.level, run.channel, startMs, rows].join(' ');
    const wanted = new Map<string, number[]>();
    for (const run of sql.runs.filter(({ rule }) => rule === 'excursion')) {
      const name = key(run, run.startMs, `${run.rows} ${run.worst}`);
      wanted.set(name, [...(wanted.get(name) ?? []), run.integralS!]);
    }
    for (const finding of findings('excursion')) {
      const { integralS, rows, worst } = finding.facts;
      const candidates = wanted.get(key(finding, Date.parse(finding.startedAt!), `${rows} ${worst}`))!;
      const differences = candidates.map((value) => Math.abs(value - Number(integralS)) / Math.max(1, value));
      expect(Math.min(...differences)).toBeLessThan(1e-9);
    }
  });

  it('gives the same statistics of every channel in every layer, zone and step', () => {
    const given = new Map(
      result.summaries
        .filter((row) => row.n !== '0')
        .map((row) => [[row.layer, row.zone, row.step, row.channel].join('|'), row]),
    );
    expect(given.size).toBe(sql.summaries.length);
    for (const wanted of sql.summaries) {
      const row = given.get(wanted.key)!;
      for (const exact of ['n', 'min', 'max', 'observedMs', 'outsideMs'] as const) {
        expect([wanted.key, exact, Number(row[exact])]).toEqual([wanted.key, exact, wanted[exact]]);
      }
      for (const close of ['mean', 'sd', 'timeWeightedMean'] as const) {
        const value = wanted[close];
        if (value === null) expect(row[close]).toBe('');
        else expect(Math.abs(Number(row[close]) - value)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(value)));
      }
    }
  });

  it('finds the same breaks of the inert atmosphere: the union of its channels and the gaps', () => {
    expect(sql.breaks.length).toBeGreaterThan(3);
    expect(spans(findings('break of inert atmosphere'))).toEqual(sql.breaks);
  });
});
