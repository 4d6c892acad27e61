import type { Verdict } from '../assessment/assessment.js';
import type { PlaceStep } from '../dossier/unit-places.js';
import type { CurrentAssessments } from '../lots/current-assessments.js';
import type { LotOverview } from '../lots/lot-overview.js';
import { FEW_PARTS, type PlacedPart, placesAsRecorded, placesOfImplants } from '../lots/unit-places.js';
import type { Reads } from '../store/repositories.js';

/** An implant with where it is and what is said of it. */
export interface PlacedUnit extends PlaceStep {
  readonly serial: string;
  readonly lot: string;
  readonly held: boolean;
  /** A document on record contradicts where it is. */
  readonly contradicted: boolean;
  /** What the current assessment of its lot says, where there is one. */
  readonly verdict: Verdict | null;
}

interface Asked {
  readonly read: Reads;
  readonly current: CurrentAssessments;
  readonly overview: LotOverview;
}

/**
 * Where implants are, by serial. Of many it is what is kept of their lots, of few it is asked of each.
 * @param lots in which most of them are.
 */
export async function placedUnits(
  { read, current, overview }: Asked,
  serials: readonly string[],
  lots: readonly string[],
): Promise<PlacedUnit[]> {
  const wanted = new Set(serials);
  const found: PlacedUnit[] = [];
  if (wanted.size > FEW_PARTS) {
    for (const { lot, units } of await overview.ofLots(lots)) {
      for (const { serial, hold, where, verdict } of units) {
        if (!wanted.delete(serial)) continue;
        found.push({
          serial,
          lot,
          held: hold !== null,
          ...where,
          verdict: verdict === 'not assessed' ? null : verdict,
        });
      }
    }
  }
  const placed = await placesOfImplants(read, [...wanted]);
  const verdicts = new Map<string, Verdict>();
  for (const lot of new Set(placed.map((part) => part.lot))) {
    for (const { units } of (await current.units(lot)).values())
      for (const { serial, verdict } of units) verdicts.set(serial, verdict);
  }
  for (const part of placed) found.push({ ...unitOf(part), verdict: verdicts.get(part.key) ?? null });
  return found.sort(bySerial);
}

/** The same by what was on record at an entry of the audit trail; verdicts are those of now, and left out. */
export async function unitsAsRecorded(read: Reads, serials: readonly string[], asOf: number): Promise<PlacedUnit[]> {
  const placed = await placesAsRecorded(read, serials, asOf);
  return placed.map((part) => ({ ...unitOf(part), verdict: null })).sort(bySerial);
}

const unitOf = ({ key, lot, place, since, by, holder, held, course }: PlacedPart): Omit<PlacedUnit, 'verdict'> => ({
  ...{ serial: key, lot, place, since, by, holder, held },
  contradicted: course.faults.length > 0,
});

const bySerial = (a: PlacedUnit, b: PlacedUnit): number => Number(a.serial > b.serial) - Number(a.serial < b.serial);
