import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { KnownPlaces } from './known-places.js';
import type { ScanPlan } from './plan.js';
import { NO_LAYER } from './row-reader.js';
import { Stretch } from './stretch.js';
import type { WindowTable } from './window-table.js';

/** Every layer, zone and step that the log has named so far. */
export class Stretches {
  private readonly byPlace = new Map<string, Map<number, Stretch>>();
  private readonly known: KnownPlaces;
  private count = 0;

  constructor(
    private readonly plan: ScanPlan,
    private readonly windows: WindowTable,
    private readonly fileName: string,
  ) {
    this.known = new KnownPlaces(plan.expected);
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
      stretch = this.make(zone, step, layer);
      layers.set(layer, stretch);
    }
    return stretch;
  }

  /** In the order in which the log named zone and step first, then by layer as logged. */
  all(): Stretch[] {
    return [...this.byPlace.values()].flatMap((layers) => [...layers.values()]).filter((stretch) => stretch.rows > 0);
  }

  private make(zone: string, step: string, logged: number): Stretch {
    this.count += 1;
    const channels = this.plan.channels.length;
    if (this.count * channels > MOST.logStatistics) this.refuseMore();
    const layer = logged === NO_LAYER ? null : logged;
    const closed = this.windows.setAt(zone, step, layer, true);
    const open = this.windows.setAt(zone, step, layer, false);
    return new Stretch(zone, step, layer, this.known.covered(zone, logged), closed, open, channels);
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
