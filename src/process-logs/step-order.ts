import { type FindingDraft, placeFinding } from './findings.js';
import { Places } from './places.js';
import type { ExpectedZone } from './plan.js';
import type { Stretch } from './stretch.js';

interface Reached {
  readonly layer: number | null;
  /** Place of the step among those of the zone. */
  readonly step: number;
  readonly name: string;
}

/**
 * Follows each zone by itself through its layers and, at each layer, through its steps in the order of the recipe. Work on
 * other zones in between does not matter. What lies behind the farthest point reached (a layer again, peening before the
 * deposit, a second deposit on a peened skin) is out of order. Where a build only finishes, a zone may be peened and then
 * milled as a whole as well as layer by layer, so that each layer, and what names none, is followed by itself.
 */
export class StepOrder {
  private readonly zones: ReadonlyMap<string, ExpectedZone>;
  private readonly reached = new Map<string, Reached>();
  private open: FindingDraft | null = null;

  constructor(
    expected: readonly ExpectedZone[],
    private readonly found: (draft: FindingDraft) => void,
  ) {
    this.zones = new Map(expected.map((zone) => [zone.zone, zone]));
  }

  /** Called whenever layer, zone or step change; a row without layer or of an unknown place changes no order. */
  enter({ zone, step, layer }: Stretch, timeUs: number, line: number): void {
    this.leave(timeUs, line - 1);
    const expected = this.zones.get(zone);
    if (expected === undefined || !isFollowed(expected, layer)) return;
    const place = expected.steps.findIndex((candidate) => candidate.step === step);
    if (place < 0) return;
    const key = expected.isFinishing ? `${zone}\n${layer}` : zone;
    const last = this.reached.get(key);
    const isAhead = last === undefined || (layer ?? 0) > (last.layer ?? 0);
    if (isAhead || (layer === last.layer && place >= last.step)) {
      this.reached.set(key, { layer, step: place, name: step });
      return;
    }
    const places = new Places();
    places.add(zone, layer, step);
    const at = layer === last.layer ? 'same' : 'later';
    const what = { code: 'order', step, after: last.name, layer: at } as const;
    this.open = placeFinding('step out of order', 'action', places, { what, startUs: timeUs, lineFrom: line });
  }

  /** Ends what is out of order: at the next change, and at the end of the log. */
  leave(timeUs: number, lineTo: number): void {
    const { open } = this;
    if (open === null) return;
    this.open = null;
    open.endUs = timeUs;
    open.durationUs = timeUs - open.startUs!;
    open.lineTo = Math.max(lineTo, open.lineFrom!);
    this.found(open);
  }
}

function isFollowed({ isFinishing, layerFrom, layerTo }: ExpectedZone, layer: number | null): boolean {
  return layer === null ? isFinishing === true : layer >= layerFrom && layer <= layerTo;
}
