import type { DewPointTrouble } from '../dossier/finding-detail.js';
import { type FindingDraft, placeFinding } from './findings.js';
import { placesBetween } from './holes.js';
import { Places } from './places.js';
import type { HeldRow } from './row.js';
import type { Stretch } from './stretch.js';

/** Findings about single rows and the times between them. */

/** From the end of what the last row before it accounts for to the next row. Nobody knows what was done meanwhile. */
export function gap({ timeUs, forUs, line, stretch }: HeldRow, next: Stretch, nextUs: number, nextLine: number) {
  const places = placesBetween(stretch, next);
  const startUs = timeUs + forUs;
  const times = { startUs, endUs: nextUs, durationUs: nextUs - startUs };
  return placeFinding('gap', 'action', places, { ...times, lineFrom: line, lineTo: nextLine });
}

export function duplicateTime({ timeUs, line, stretch }: HeldRow, nextLine: number): FindingDraft {
  const facts = { startUs: timeUs, endUs: timeUs, rows: 1, lineFrom: line, lineTo: nextLine };
  return placeFinding('duplicate time', 'alert', placesOf(stretch), facts);
}

/** The rows are rejected, and what happened while the clock ran twice is not accounted for. */
export function timeGoingBack(timeUs: number, latestUs: number, line: number, stretch: Stretch): FindingDraft {
  const facts = { startUs: timeUs, endUs: latestUs, rows: 1, lineFrom: line, lineTo: line };
  return placeFinding('time going back', 'action', placesOf(stretch), facts);
}

/** Noted with its reason; that the value is missing, and for how long, is a finding of its own where a limit holds. */
export function dewPointNotConverted(channel: number, trouble: DewPointTrouble, row: HeldRow): FindingDraft {
  const { timeUs, line, stretch } = row;
  const times = { startUs: timeUs, endUs: timeUs, rows: 1, lineFrom: line, lineTo: line };
  const what = { code: 'dew point', trouble } as const;
  return placeFinding('dew point not converted', 'alert', placesOf(stretch), { channel, what, ...times });
}

function placesOf({ covers, step }: Stretch): Places {
  const places = new Places();
  places.add(covers.zone, covers.layer, step);
  return places;
}
