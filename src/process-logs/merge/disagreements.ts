import type { FindingDetail, SaidPlace } from '../../dossier/finding-detail.js';
import { type FindingDraft, placeFinding } from '../findings.js';
import { Places } from '../places.js';

/** What two files say of one moment, the first of them counting. */
export type Disagreement = Extract<FindingDetail, { code: 'values' | 'places' }>;

/** Where the machine was then, as limits are put on places. */
interface At extends SaidPlace {
  readonly timeUs: number;
}

interface Run {
  readonly channel: number | null;
  readonly startUs: number;
  endUs: number;
  rows: number;
  readonly what: FindingDetail;
  readonly places: Places;
}

/** Times at which two files of one build say different things of the same moment. */
export class Disagreements {
  private readonly open = new Map<string, Run>();

  /** @param gapUs disagreements farther apart than this are two findings. */
  constructor(
    private readonly gapUs: number,
    private readonly found: (draft: FindingDraft) => void,
  ) {}

  /** @param channel null when they disagree on layer, zone or step. */
  add(channel: number | null, what: Disagreement, at: At): void {
    const key = JSON.stringify([what.first, what.second, channel]);
    const earlier = this.open.get(key);
    if (earlier !== undefined && at.timeUs - earlier.endUs > this.gapUs) this.close(key, earlier);
    const run = this.open.get(key) ?? { channel, startUs: at.timeUs, endUs: 0, rows: 0, what, places: new Places() };
    run.endUs = at.timeUs;
    run.rows += 1;
    run.places.add(at.zone, at.layer, at.step);
    this.open.set(key, run);
  }

  finish(): void {
    for (const [key, run] of this.open) this.close(key, run);
  }

  private close(key: string, { channel, startUs, endUs, rows, what, places }: Run): void {
    this.open.delete(key);
    const facts = { startUs, endUs, durationUs: endUs - startUs, rows, what };
    this.found(placeFinding('files disagree', 'action', places, channel === null ? facts : { ...facts, channel }));
  }
}
