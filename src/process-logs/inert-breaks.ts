import type { JoinedCause } from '../dossier/finding-detail.js';
import { type FindingDraft, placeFinding } from './findings.js';
import { type Level, moreSevere } from './levels.js';
import { compareText, Places } from './places.js';

interface Break {
  startUs: number;
  endUs: number;
  level: Level;
  /** By rule and channel. */
  readonly causes: Map<string, JoinedCause>;
  readonly places: Places;
}

/** So many breaks stand alone; further ones are joined to the last, so that memory stays bounded. */
const MOST_BREAKS = 10_000;

/**
 * The times at which the atmosphere was not shown to be inert: the union of excursions and missing values of the
 * inert-atmosphere channels and of gaps in the log. Breaks closer than the join time are one break.
 */
export class InertBreaks {
  private readonly breaks: Break[] = [];

  constructor(private readonly joinUs: number) {}

  /** Takes in a finding with times. Findings come in the order in which they end, but for those of a log too short. */
  add({ rule, level, startUs, endUs, places }: FindingDraft, channel: string | null): void {
    if (startUs === null || endUs === null) return;
    const causes = new Map([[`${rule} ${channel ?? ''}`, { rule, channel }]]);
    const next: Break = { startUs, endUs, level, causes, places: new Places() };
    next.places.addAll(places);
    for (let last = this.breaks.at(-1); last !== undefined && this.meets(last, next); last = this.breaks.at(-1)) {
      join(next, last);
      this.breaks.pop();
    }
    this.breaks.push(next);
  }

  /**
   * Noted as alerts whatever they join: the excursions themselves carry the levels that act on units, and a break that
   * joins several of them covers more layers than the severe part did.
   */
  findings(): FindingDraft[] {
    const inOrder = [...this.breaks].sort((a, b) => a.startUs - b.startUs || a.endUs - b.endUs);
    const merged: Break[] = [];
    for (const next of inOrder) {
      const last = merged.at(-1);
      if (last !== undefined && last.endUs + this.joinUs >= next.startUs) join(last, next);
      else merged.push(next);
    }
    return merged.map(({ startUs, endUs, level, causes, places }) => ({
      ...placeFinding('break of inert atmosphere', 'alert', places, { startUs, endUs, durationUs: endUs - startUs }),
      joins: [...causes].sort(([a], [b]) => compareText(a, b)).map(([, cause]) => cause),
      mostSevere: level,
    }));
  }

  private meets(last: Break, next: Break): boolean {
    const isNear = last.endUs + this.joinUs >= next.startUs && next.endUs + this.joinUs >= last.startUs;
    return isNear || this.breaks.length >= MOST_BREAKS;
  }
}

function join(into: Break, other: Break): void {
  into.startUs = Math.min(into.startUs, other.startUs);
  into.endUs = Math.max(into.endUs, other.endUs);
  into.level = moreSevere(into.level, other.level);
  for (const [name, cause] of other.causes) into.causes.set(name, cause);
  into.places.addAll(other.places);
}
