import type { PlannedChannel, ScanPlan, ScanWindow } from '../../src/process-logs/plan.js';

/**
 * Makes process logs of an invented cell from a seed: the same seed, the same bytes. Channels wander around a set value;
 * excursions, blank cells, NaN, gaps and repeated times are put in at random.
 */

/** Mulberry32: a small generator of uniform numbers in [0, 1) by integer arithmetic, equal on every machine. */
export function random(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

interface Signal {
  readonly name: string;
  readonly ucum: string;
  readonly typical: number;
  readonly spread: number;
  readonly decimals: number;
}

export const SIGNALS: readonly Signal[] = [
  { name: 'oxygen', ucum: '[ppm]', typical: 12, spread: 3, decimals: 2 },
  { name: 'moisture', ucum: '[ppm]', typical: 8, spread: 2, decimals: 2 },
  { name: 'pressure', ucum: 'mbar', typical: 1032, spread: 4, decimals: 1 },
  { name: 'laser-power', ucum: 'W', typical: 300, spread: 6, decimals: 1 },
  { name: 'scan-speed', ucum: 'mm/s', typical: 8, spread: 0.3, decimals: 3 },
  { name: 'powder-flow', ucum: 'g/min', typical: 4, spread: 0.2, decimals: 3 },
  { name: 'shield-gas', ucum: 'L/min', typical: 12, spread: 0.5, decimals: 2 },
  { name: 'melt-pool', ucum: 'Cel', typical: 655, spread: 9, decimals: 1 },
  { name: 'peen-force', ucum: 'N', typical: 45, spread: 2, decimals: 2 },
  { name: 'spindle-load', ucum: '%', typical: 20, spread: 4, decimals: 1 },
  { name: 'plate-temperature', ucum: 'Cel', typical: 120, spread: 1.5, decimals: 1 },
  { name: 'dew-point', ucum: 'Cel', typical: -62, spread: 1, decimals: 1 },
];

export interface LogShape {
  readonly seed: number;
  readonly rows: number;
  readonly periodMs?: number;
  readonly channels?: number;
  readonly zones?: number;
  readonly rowsPerStep?: number;
  /** Chances per row. */
  readonly excursions?: number;
  readonly blanks?: number;
  readonly gaps?: number;
  readonly repeatedTimes?: number;
  readonly unitRow?: boolean;
}

export const LOG_START_MS = Date.UTC(2026, 2, 2, 7, 15, 0);
const STEPS = ['deposit', 'peen', 'mill'];

/** The lines of a log without line feeds, header first. */
export function* logLines(shape: LogShape): Generator<string> {
  const { seed, rows, periodMs = 100, zones = 3, rowsPerStep = 40 } = shape;
  const { excursions = 0.002, blanks = 0.001, gaps = 0.0005, repeatedTimes = 0.0005 } = shape;
  const signals = SIGNALS.slice(0, shape.channels ?? SIGNALS.length);
  const next = random(seed);
  const offset = new Float64Array(signals.length);
  const left = new Int32Array(signals.length);
  const lift = new Float64Array(signals.length);
  yield ['timestamp', 'layer', 'zone', 'step', ...signals.map((signal) => signal.name)].join(',');
  if (shape.unitRow) yield ['ucum', '', '', '', ...signals.map((signal) => signal.ucum)].join(',');
  let timeMs = LOG_START_MS;
  for (let row = 0; row < rows; row += 1) {
    const block = Math.floor(row / rowsPerStep);
    const layer = Math.floor(block / (zones * STEPS.length)) + 1;
    const zone = `Z${(block % zones) + 1}`;
    const step = STEPS[Math.floor(block / zones) % STEPS.length]!;
    const cells = signals.map(({ typical, spread, decimals }, index) => {
      offset[index] = offset[index]! * 0.95 + (next() - 0.5) * spread * 0.6;
      if (left[index]! > 0) left[index]! -= 1;
      else if (next() < excursions) {
        left[index] = Math.floor(next() * 60) + 1;
        lift[index] = (next() - 0.3) * spread * 8;
      } else lift[index] = 0;
      const chance = next();
      if (chance < blanks) return '';
      if (chance < blanks * 1.2) return 'NaN';
      return (typical + offset[index]! + lift[index]!).toFixed(decimals);
    });
    yield `${new Date(timeMs).toISOString()},${layer},${zone},${step},${cells.join(',')}`;
    const chance = next();
    if (chance < gaps) timeMs += periodMs * (20 + Math.floor(next() * 200));
    else if (chance >= gaps + repeatedTimes) timeMs += periodMs;
  }
}

export function logText(shape: LogShape): string {
  return `${[...logLines(shape)].join('\n')}\n`;
}

/** A plan that fits the logs made here, with windows of all levels, for the closed chamber and for zones. */
export function planFor(shape: LogShape, changes: Partial<ScanPlan> = {}): ScanPlan {
  const signals = SIGNALS.slice(0, shape.channels ?? SIGNALS.length);
  const channels: PlannedChannel[] = signals.map(({ name, ucum }) => ({
    name,
    ucum,
    loggedUcum: ucum,
    unitFrom: ['lot file'],
    dewPoint: null,
  }));
  const periodMs = shape.periodMs ?? 100;
  return {
    build: 'CELL-1-0042',
    channels,
    windows: signals.flatMap((signal, index) => windowsFor(signal, index, shape)),
    setValues: [],
    inert: { channels: ['oxygen', 'moisture', 'pressure'], joinMs: 2000 },
    closure: null,
    expected: [],
    nominalPeriodMs: periodMs,
    gapLimitMs: periodMs * 10,
    clockOffsetMs: 0,
    ...changes,
  };
}

function windowsFor({ name, typical, spread }: Signal, index: number, shape: LogShape): ScanWindow[] {
  const common = { channel: name, minimumMs: null, integralLimit: null } as const;
  const chamber = { ...common, scope: 'closure' } as const;
  if (index < 3) {
    return [
      { ...chamber, level: 'alert', low: null, high: typical + spread },
      { ...chamber, level: 'action', low: null, high: typical + 2 * spread, minimumMs: 500 },
      {
        ...chamber,
        level: 'reject',
        low: null,
        high: typical + 3 * spread,
        minimumMs: 3000,
        integralLimit: spread * 2,
      },
    ];
  }
  const zones = Array.from({ length: shape.zones ?? 3 }, (_, zone) => `Z${zone + 1}`);
  return zones.flatMap((zone) => {
    const deposit = { zone, step: 'deposit', layerFrom: 1, layerTo: 1_000_000 };
    const peen = { zone, step: 'peen', layerFrom: 2, layerTo: 4 };
    return [
      { ...common, scope: deposit, level: 'alert', low: typical - spread, high: typical + spread },
      { ...common, scope: deposit, level: 'action', low: typical - 2 * spread, high: typical + 2 * spread },
      { ...common, scope: peen, level: 'reject', low: typical - spread, high: null, integralLimit: spread },
    ] satisfies ScanWindow[];
  });
}
