import type { Random } from '../base/random.js';

/** A zone of a part as the recorder names it, with the recipe zone that says what is done there. */
export interface LoggedZone {
  readonly logged: string;
  readonly recipeZone: 'span' | 'eyelet' | 'skin';
}

export interface LogDesign {
  readonly closedAtMs: number;
  readonly periodMs: number;
  readonly rowsPerSegment: number;
  readonly zones: readonly LoggedZone[];
  /** Oxygen that enters at one place of the build, ppm, over the middle half of that segment. */
  readonly leak?: { readonly zone: string; readonly layer: number; readonly step: string; readonly oxygenPpm: number };
}

interface Segment {
  readonly layer: number;
  readonly zone: string;
  readonly recipeZone: LoggedZone['recipeZone'];
  readonly step: 'deposit' | 'peen' | 'mill';
}

const LAYERS = 30;
const PEEN_EVERY = { span: 4, eyelet: 6, skin: 3 } as const;

/** Layer by layer, first all deposits, then the peening and milling that are due. */
function segments(zones: readonly LoggedZone[]): Segment[] {
  const found: Segment[] = [];
  for (let layer = 1; layer <= LAYERS; layer++) {
    const due = zones.filter(({ recipeZone }) => (recipeZone === 'skin' ? layer > 24 : layer <= 24));
    const add = (step: Segment['step'], chosen: readonly LoggedZone[]) =>
      found.push(...chosen.map(({ logged, recipeZone }) => ({ layer, zone: logged, recipeZone, step })));
    add('deposit', due);
    add(
      'peen',
      due.filter(({ recipeZone }) => (recipeZone === 'skin' ? layer - 24 : layer) % PEEN_EVERY[recipeZone] === 0),
    );
    add(
      'mill',
      due.filter(({ recipeZone }) => recipeZone === 'skin' && layer === LAYERS),
    );
  }
  return found;
}

/** When the chamber was opened again: one period after the last row. */
export const openedAtMs = (design: LogDesign): number =>
  design.closedAtMs + segments(design.zones).length * design.rowsPerSegment * design.periodMs;

/** What the recipe sets, as the recorder shows it: powder flow in g/min, needle force in N, spindle speed per minute. */
const LASER_W = { span: 300, eyelet: 290, skin: 290 } as const;
const NEEDLE_N = { span: 45, eyelet: 35, skin: 30 } as const;
const SPINDLE = 18_000;
const FLOW = 3.2;

/** In the order of the columns of a row. */
export const LOG_CHANNELS = [
  ...(['oxygen', 'moisture', 'laser_power', 'chamber_pressure', 'powder_flow'] as const),
  ...(['needle_force', 'spindle_speed'] as const),
] as const;

/** What was logged at one time. */
export interface LogRow {
  readonly atMs: number;
  readonly layer: number;
  readonly zone: string;
  readonly step: Segment['step'];
  /** As text, in the order of LOG_CHANNELS: ppm by volume, W, mbar, g/min, N, per minute. */
  readonly values: readonly string[];
}

/**
 * The rows of a build: quiet argon, the leak where there is one, and settings that are followed.
 * @param ofSettings for what scatters about a setting, apart from what lots had before these channels were logged.
 */
export function logRows(design: LogDesign, random: Random, ofSettings: Random): LogRow[] {
  const { closedAtMs, periodMs, rowsPerSegment, leak } = design;
  const rows: LogRow[] = [];
  let oxygen = 8;
  for (const { layer, zone, recipeZone, step } of segments(design.zones)) {
    const leaks = leak !== undefined && leak.zone === zone && leak.layer === layer && leak.step === step;
    for (let index = 0; index < rowsPerSegment; index++) {
      oxygen += (8 - oxygen) * 0.02 + (random.next() - 0.5) * 0.8;
      const through = leaks && index >= rowsPerSegment / 4 && index < (3 * rowsPerSegment) / 4;
      const shown = through ? leak.oxygenPpm + random.next() * 4 : oxygen;
      const laser = step === 'deposit' ? LASER_W[recipeZone] - 4 + random.next() * 8 : 0;
      const moisture = 5 + random.next() * 2;
      const pressure = 1012 + random.next() * 3;
      const about = (set: number, by: number) => set + (ofSettings.next() - 0.5) * by;
      const flow = step === 'deposit' ? about(FLOW, 0.1) : 0;
      const force = step === 'peen' ? about(NEEDLE_N[recipeZone], 1.6) : 0;
      const spindle = step === 'mill' ? about(SPINDLE, 90) : 0;
      rows.push({
        ...{ atMs: closedAtMs + rows.length * periodMs, layer, zone, step },
        values: [
          ...[shown.toFixed(1), moisture.toFixed(1), laser.toFixed(1), pressure.toFixed(1)],
          ...[flow.toFixed(2), force.toFixed(1), spindle.toFixed(0)],
        ],
      });
    }
  }
  return rows;
}

/** The same as the text of a CSV. */
export const logText = (design: LogDesign, random: Random, ofSettings: Random): string =>
  [
    ['timestamp', 'layer', 'zone', 'step', ...LOG_CHANNELS],
    ...logRows(design, random, ofSettings).map(({ atMs, layer, zone, step, values }) => [
      ...[new Date(atMs).toISOString(), String(layer), zone, step],
      ...values,
    ]),
    [],
  ]
    .map((cells) => cells.join(','))
    .join('\n');
