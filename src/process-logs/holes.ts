import type { RejectionCode } from '../dossier/finding-detail.js';
import { everywhere, type FindingDraft, placeFinding } from './findings.js';
import type { Level } from './levels.js';
import { Places } from './places.js';
import type { Rejection } from './rejection.js';
import type { Stretch } from './stretch.js';

/** A row beside a hole. */
export interface HoleEnd {
  readonly timeUs: number;
  readonly stretch: Stretch;
}

interface Hole {
  /** Null when no row came before. */
  readonly before: HoleEnd | null;
  /** Where the rows of other files lay meanwhile. */
  readonly between: Places;
  readonly lines: Map<RejectionCode, { rows: number; readonly lineFrom: number; lineTo: number }>;
}

/** Of several files, the name of each: one may have a hole while others go on. One file has no name. */
type FileName = string | undefined;

/**
 * Lines that were rejected, one behind the other: a hole from the row before to the next row of the file. Nobody knows what
 * they said, so it lies wherever the machine may have been between the two, and everywhere at the ends of a log.
 */
export class Holes {
  private readonly open = new Map<FileName, Hole>();
  /** Whether lines were rejected before the first row. */
  isAtStart = false;

  /**
   * @param closedUs from when on the log was to run, and until when: infinite where it is not known.
   * @param couldHide whether anything had to be watched between two rows; null stands for no row.
   */
  constructor(
    private readonly closedUs: number,
    private readonly openedUs: number,
    private readonly couldHide: (before: HoleEnd | null, next: HoleEnd | null) => boolean,
    private readonly found: (draft: FindingDraft) => void,
  ) {}

  get isOpen(): boolean {
    return this.open.size > 0;
  }

  add({ code, line, file }: Rejection, before: HoleEnd | null): void {
    let hole = this.open.get(file);
    if (hole === undefined) {
      hole = {
        before: before === null ? null : { timeUs: before.timeUs, stretch: before.stretch },
        between: new Places(),
        lines: new Map(),
      };
      this.open.set(file, hole);
    }
    const lines = hole.lines.get(code);
    if (lines === undefined) hole.lines.set(code, { rows: 1, lineFrom: line, lineTo: line });
    else {
      lines.rows += 1;
      lines.lineTo = line;
    }
  }

  /** A row came: it ends the holes of its files. @param files undefined for the only one. */
  row(next: HoleEnd, files: readonly string[] | undefined): void {
    for (const [file, hole] of this.open) {
      if (files === undefined || files.includes(file!)) this.close(file, hole, next);
      else addStretch(hole.between, next.stretch);
    }
  }

  finish(): void {
    for (const [file, hole] of this.open) this.close(file, hole, null);
  }

  private close(file: FileName, hole: Hole, next: HoleEnd | null): void {
    this.open.delete(file);
    const { before, lines } = hole;
    if (before === null) this.isAtStart = true;
    const level: Level = this.couldHide(before, next) ? 'action' : 'alert';
    const times = this.timesOf(before, next);
    for (const [reason, { rows, lineFrom, lineTo }] of lines) {
      const facts = { what: { code: 'rejected', reason } as const, rows, lineFrom, lineTo, ...times };
      this.found(placeFinding('rows rejected', level, placesOf(hole, next), facts));
    }
  }

  private timesOf(before: HoleEnd | null, next: HoleEnd | null) {
    const { closedUs, openedUs } = this;
    const known = before ?? next;
    if (known === null) return {};
    const startUs = before?.timeUs ?? (Number.isFinite(closedUs) ? Math.min(closedUs, known.timeUs) : known.timeUs);
    const endUs = next?.timeUs ?? (Number.isFinite(openedUs) ? Math.max(openedUs, known.timeUs) : known.timeUs);
    return { startUs, endUs, durationUs: endUs - startUs };
  }
}

function placesOf({ before, between }: Hole, next: HoleEnd | null): Places {
  if (before === null || next === null) return everywhere();
  const places = placesBetween(before.stretch, next.stretch);
  places.addAll(between);
  return places;
}

/**
 * Where something unseen may have happened between two rows: between two zones in every zone, between two layers in all
 * from one to the other.
 */
export function placesBetween(before: Stretch, next: Stretch): Places {
  const places = new Places();
  const zone = before.covers.zone === next.covers.zone ? next.covers.zone : null;
  const from = before.covers.layer;
  const to = next.covers.layer;
  const isOpen = from === null || to === null;
  places.addRange(zone, isOpen ? null : Math.min(from, to), isOpen ? null : Math.max(from, to));
  places.addStep(before.step);
  places.addStep(next.step);
  return places;
}

function addStretch(places: Places, { covers, step }: Stretch): void {
  places.add(covers.zone, covers.layer, step);
}
