import { LogScanner } from '../../src/process-logs/scanner.js';
import type { TextScan } from '../../src/process-logs/text-scan.js';
import { type LogShape, logText, planFor } from '../support/log-maker.js';
import { slowRows, slowRuns, slowSummary } from '../support/slow-scan.js';

/**
 * The scanner against a plain second writing of the same rules (tests/support/slow-scan.ts) on logs from three seeds.
 */

function scan(text: string, plan: ReturnType<typeof planFor>): TextScan {
  const scanner = new LogScanner(plan, 'log.csv');
  scanner.push(Buffer.from(text));
  return scanner.end();
}

const SHAPES: LogShape[] = [
  { seed: 1, rows: 3000 },
  { seed: 2, rows: 3000, channels: 5, rowsPerStep: 7, repeatedTimes: 0.02, blanks: 0.02 },
  { seed: 3, rows: 2500, zones: 2, gaps: 0.01, excursions: 0.01, unitRow: true },
];

describe.each(SHAPES)('seed $seed', (shape) => {
  const text = logText(shape);
  const plan = planFor(shape);
  const result = scan(text, plan);
  const rows = slowRows(text, plan);

  it('finds the same excursions and missing values', () => {
    const found = result.part.findings
      .filter(({ rule }) => rule === 'excursion' || rule === 'missing values')
      .map(({ rule, level, channel, startedAt, places, facts }) => ({
        rule,
        level,
        channel,
        direction: facts.direction ?? null,
        startMs: Date.parse(startedAt!),
        durationMs: facts.durationMs,
        rows: facts.rows,
        worst: facts.worst ?? null,
        zones: places.map((place) => place.zone).sort(),
        layers: [
          Math.min(...places.map((place) => place.layerFrom!)),
          Math.max(...places.map((place) => place.layerTo!)),
        ],
      }));
    const expected = slowRuns(rows, plan).map(({ integralS: _, ...run }) => run);
    const order = (run: object) => JSON.stringify(Object.entries(run).sort());
    expect(expected.length).toBeGreaterThan(40);
    expect(found.map(order).sort()).toEqual(expected.map(order).sort());
  });

  it('gives the same integrals', () => {
    const key = (channel: string | null, level: string, start: number) => `${channel} ${level} ${start}`;
    const expected = new Map(
      slowRuns(rows, plan).map((run) => [key(run.channel, run.level, run.startMs) + run.direction, run.integralS]),
    );
    const excursions = result.part.findings.filter((finding) => finding.rule === 'excursion');
    for (const { channel, level, startedAt, facts } of excursions) {
      const wanted = expected.get(key(channel, level, Date.parse(startedAt!)) + facts.direction)!;
      expect(Math.abs((facts.integralS as number) - wanted)).toBeLessThanOrEqual(1e-9 * Math.max(1, wanted));
    }
  });

  it('gives the same summaries', () => {
    const expected = slowSummary(rows, plan);
    const given = result.summaries.filter((row) => row.n !== '0');
    expect(given).toHaveLength(expected.size);
    for (const row of given) {
      const wanted = expected.get(`${row.layer}|${row.zone}|${row.step}|${row.channel}`)!;
      expect(Number(row.n)).toBe(wanted.n);
      expect(Number(row.min)).toBe(wanted.min);
      expect(Number(row.max)).toBe(wanted.max);
      expect(Number(row.observedMs)).toBe(wanted.observedMs);
      expect(Number(row.outsideMs)).toBe(wanted.outsideMs);
      for (const name of ['mean', 'sd', 'timeWeightedMean'] as const) {
        const value = wanted[name];
        if (value === null) expect(row[name]).toBe('');
        else expect(Math.abs(Number(row[name]) - value)).toBeLessThanOrEqual(1e-10 * Math.max(1, Math.abs(value)));
      }
    }
  });

  it('outlines the smallest and largest value of each bucket', () => {
    for (const [channel, outline] of result.part.outlines.entries()) {
      const { startMs, bucketMs, min, max } = outline;
      expect(min.length).toBeLessThanOrEqual(1024);
      const lows: (number | null)[] = min.map(() => null);
      const highs: (number | null)[] = max.map(() => null);
      for (const row of rows) {
        const value = row.values[channel];
        const bucket = Math.floor((row.timeMs - startMs) / bucketMs);
        if (value === null || value === undefined) continue;
        lows[bucket] = Math.min(lows[bucket] ?? value, value);
        highs[bucket] = Math.max(highs[bucket] ?? value, value);
      }
      expect(min).toEqual(lows);
      expect(max).toEqual(highs);
    }
  });

  it('finds the same gaps and repeated times', () => {
    const gaps = rows.filter((row) => row.afterGap).map((row) => row.timeMs);
    expect(result.part.gaps.map((gap) => Date.parse(gap.endedAt))).toEqual(gaps);
    const repeated = rows.slice(0, -1).filter((row) => row.forMs === 0).length;
    const finding = result.part.findings.find(({ rule }) => rule === 'duplicate time');
    expect(finding?.facts.occurrences ?? finding?.facts.rows ?? 0).toBe(repeated);
    expect(result.rows).toBe(rows.length);
  });
});
