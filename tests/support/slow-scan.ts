import type { Level } from '../../src/process-logs/levels.js';
import type { ScanPlan, ScanWindow } from '../../src/process-logs/plan.js';

/**
 * The rules of a log scan written down once more, as plainly as possible and with everything in arrays, to hold the
 * scanner against. It shares no code with it. Well-formed logs with UTC milliseconds only.
 */

export interface SlowRow {
  readonly timeMs: number;
  /** How long the row holds, milliseconds. */
  readonly forMs: number;
  readonly afterGap: boolean;
  readonly layer: number | null;
  readonly zone: string;
  readonly step: string;
  readonly values: readonly (number | null)[];
}

export interface SlowRun {
  readonly rule: 'excursion' | 'missing values';
  readonly level: Level;
  readonly channel: string;
  readonly direction: 'high' | 'low' | null;
  readonly startMs: number;
  readonly durationMs: number;
  readonly rows: number;
  readonly worst: number | null;
  readonly integralS: number | null;
  readonly zones: readonly string[];
  readonly layers: readonly [number, number];
}

export function slowRows(text: string, plan: ScanPlan): SlowRow[] {
  const lines = text.split('\n').slice(0, -1);
  const names = lines[0]!.split(',').slice(4);
  const column = plan.channels.map(({ name }) => names.indexOf(name));
  const rows = lines.slice(1).filter((line) => !line.startsWith('ucum'));
  const read = rows.map((line) => {
    const [time, layer, zone, step, ...cells] = line.split(',');
    const values = column.map((index) => (/^(nan)?$/i.test(cells[index]!) ? null : Number(cells[index])));
    return {
      timeMs: Date.parse(time!),
      layer: layer === '' ? null : Number(layer),
      zone: zone!,
      step: step!,
      values,
    };
  });
  return read.map((row, index) => {
    const next = read[index + 1];
    const before = read[index - 1];
    const isGap = next === undefined || next.timeMs - row.timeMs > plan.gapLimitMs;
    return {
      ...row,
      forMs: isGap ? plan.nominalPeriodMs : next.timeMs - row.timeMs,
      afterGap: before !== undefined && row.timeMs - before.timeMs > plan.gapLimitMs,
    };
  });
}

export function holding(plan: ScanPlan, row: SlowRow, channel: string): ScanWindow[] {
  return plan.windows.filter((window) => {
    if (window.channel !== channel) return false;
    if (window.scope === 'closure') return true;
    const { zone, step, layerFrom, layerTo } = window.scope;
    return zone === row.zone && step === row.step && row.layer! >= layerFrom && row.layer! <= layerTo;
  });
}

/** Every excursion and every run of missing values, by walking each channel, level and side on its own. */
export function slowRuns(rows: readonly SlowRow[], plan: ScanPlan): SlowRun[] {
  const found: SlowRun[] = [];
  plan.channels.forEach(({ name }, channel) => {
    for (const level of ['alert', 'action', 'reject'] as const) {
      for (const direction of ['high', 'low'] as const) {
        const limitAt = (row: SlowRow) => {
          const sides = holding(plan, row, name).filter(
            (window) => window.level === level && window[direction] !== null,
          );
          return sides[0];
        };
        const excess = (row: SlowRow) => {
          const limit = limitAt(row)?.[direction];
          const value = row.values[channel]!;
          if (limit === undefined || limit === null || value === null) return 0;
          return direction === 'high' ? value - limit : limit - value;
        };
        for (const run of runsWhere(rows, (row) => excess(row) > 0)) {
          const counts = run.some((row, index) => {
            const { minimumMs, integralLimit } = limitAt(row)!;
            const lasted = sum(run.slice(0, index + 1).map((earlier) => earlier.forMs));
            const area = sum(run.slice(0, index + 1).map((earlier) => (excess(earlier) * earlier.forMs) / 1000));
            if (minimumMs === null && integralLimit === null) return true;
            return (minimumMs !== null && lasted >= minimumMs) || (integralLimit !== null && area >= integralLimit);
          });
          if (!counts) continue;
          const worst = run.reduce((a, b) => (excess(b) > excess(a) ? b : a));
          const integralS = sum(run.map((row) => (excess(row) * row.forMs) / 1000));
          found.push({
            rule: 'excursion',
            level,
            direction,
            worst: worst.values[channel]!,
            integralS,
            ...facts(name, run),
          });
        }
      }
    }
    const isMissed = (row: SlowRow) => row.values[channel] === null && holding(plan, row, name).length > 0;
    for (const run of runsWhere(rows, isMissed)) {
      const level = sum(run.map((row) => row.forMs)) > plan.gapLimitMs ? 'action' : 'alert';
      found.push({ rule: 'missing values', level, direction: null, worst: null, integralS: null, ...facts(name, run) });
    }
  });
  return found;
}

export interface SlowSummary {
  readonly n: number;
  readonly min: number;
  readonly max: number;
  readonly mean: number;
  readonly sd: number | null;
  readonly timeWeightedMean: number | null;
  readonly observedMs: number;
  readonly outsideMs: number;
}

/** By `layer|zone|step|channel`. */
export function slowSummary(rows: readonly SlowRow[], plan: ScanPlan): Map<string, SlowSummary> {
  const groups = new Map<string, SlowRow[]>();
  for (const row of rows) {
    const key = `${row.layer ?? ''}|${row.zone}|${row.step}`;
    groups.set(key, [...(groups.get(key) ?? []), row]);
  }
  const result = new Map<string, SlowSummary>();
  for (const [key, group] of groups) {
    plan.channels.forEach(({ name }, channel) => {
      const seen = group.filter((row) => row.values[channel] !== null);
      if (seen.length === 0) return;
      const values = seen.map((row) => row.values[channel]!);
      const mean = sum(values) / values.length;
      const observedMs = sum(seen.map((row) => row.forMs));
      const isOutside = (row: SlowRow) =>
        holding(plan, row, name).some(
          ({ low, high }) =>
            (low !== null && row.values[channel]! < low) || (high !== null && row.values[channel]! > high),
        );
      result.set(`${key}|${name}`, {
        n: values.length,
        min: Math.min(...values),
        max: Math.max(...values),
        mean,
        sd: values.length > 1 ? Math.sqrt(sum(values.map((v) => (v - mean) ** 2)) / (values.length - 1)) : null,
        timeWeightedMean: observedMs > 0 ? sum(seen.map((row) => row.values[channel]! * row.forMs)) / observedMs : null,
        observedMs,
        outsideMs: sum(seen.filter(isOutside).map((row) => row.forMs)),
      });
    });
  }
  return result;
}

function runsWhere(rows: readonly SlowRow[], holds: (row: SlowRow) => boolean): SlowRow[][] {
  const runs: SlowRow[][] = [];
  let open: SlowRow[] | undefined;
  for (const row of rows) {
    if (row.afterGap) open = undefined;
    if (!holds(row)) {
      open = undefined;
      continue;
    }
    if (open === undefined) {
      open = [];
      runs.push(open);
    }
    open.push(row);
  }
  return runs;
}

function facts(channel: string, run: readonly SlowRow[]) {
  const layers = run.map((row) => row.layer!);
  return {
    channel,
    startMs: run[0]!.timeMs,
    durationMs: sum(run.map((row) => row.forMs)),
    rows: run.length,
    zones: [...new Set(run.map((row) => row.zone))].sort(),
    layers: [Math.min(...layers), Math.max(...layers)] as const,
  };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
