import { BadInputError } from '../errors.js';
import type { ExpectedZone, ScanPlan } from './plan.js';
import { NO_LAYER } from './row-reader.js';
import { type Covered, Stretch } from './stretch.js';
import type { WindowTable } from './window-table.js';

/** Statistics that are kept at most: so many pairs of a stretch and a channel. Far above any build (200 MB of them). */
const MOST_STATISTICS = 600_000;

/** Every layer, zone and step that the log has named so far. */
export class Stretches {
  private readonly byPlace = new Map<string, Map<number, Stretch>>();
  private readonly expected: ReadonlyMap<string, ExpectedZone>;
  private count = 0;

  constructor(
    private readonly plan: ScanPlan,
    private readonly windows: WindowTable,
    private readonly fileName: string,
  ) {
    this.expected = new Map(plan.expected.map((zone) => [zone.zone, zone]));
  }

  /** @throws BadInputError when the log names more layers, zones and steps than any build has. */
  at(zone: string, step: string, layer: number): Stretch {
    const key = `${zone}\u0000${step}`;
    let layers = this.byPlace.get(key);
    if (layers === undefined) {
      layers = new Map();
      this.byPlace.set(key, layers);
    }
    let stretch = layers.get(layer);
    if (stretch === undefined) {
      stretch = this.make(zone, step, layer === NO_LAYER ? null : layer);
      layers.set(layer, stretch);
    }
    return stretch;
  }

  /** In the order in which the log named zone and step first, then by layer as logged. */
  all(): Stretch[] {
    return [...this.byPlace.values()].flatMap((layers) => [...layers.values()]).filter((stretch) => stretch.rows > 0);
  }

  private make(zone: string, step: string, layer: number | null): Stretch {
    this.count += 1;
    const channels = this.plan.channels.length;
    if (this.count * channels > MOST_STATISTICS) this.refuseMore();
    const closed = this.windows.setAt(zone, step, layer, true);
    const open = this.windows.setAt(zone, step, layer, false);
    return new Stretch(zone, step, layer, this.covered(zone, layer), closed, open, channels);
  }

  private covered(zone: string, layer: number | null): Covered {
    const isCalledZone = zone !== '' && (this.expected.size === 0 || this.expected.has(zone));
    const range = this.expected.get(zone);
    const isLayerOfZone =
      layer !== null && (range === undefined || (layer >= range.layerFrom && layer <= range.layerTo));
    return { zone: isCalledZone ? zone : null, layer: isLayerOfZone ? layer : null };
  }

  private refuseMore(): never {
    throw new BadInputError([
      {
        code: 'log-too-many-places',
        file: this.fileName,
        found: `more than ${this.count - 1} different combinations of layer, zone and step`,
        expected: 'the layers, zones and steps of one build',
        remedy: 'check that the columns layer, zone and step hold what their names say',
      },
    ]);
  }
}
