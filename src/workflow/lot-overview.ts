import type { Effect, Verdict } from '../assessment/assessment.js';
import type { Case } from '../kinds/case.js';
import type { Lot } from '../kinds/lot.js';
import type { StoredRevision } from '../store/reads.js';
import type { Store } from '../store/store.js';

export interface Blocker {
  readonly effect: Effect;
  readonly says: string;
  readonly clearedBy: string;
  /** Code of the check that says so, or `acceptance`. */
  readonly check: string;
  readonly units: readonly string[];
}

/** One lot as lists show it: who needs it when, what each implant is proposed to be, and what stands in the way. */
export interface LotLine {
  readonly lot: string;
  readonly family: string;
  readonly cases: readonly string[];
  /** The earliest day on which one of its implants is needed. */
  readonly neededBy: string | null;
  /** In words, derived from the units. */
  readonly state: string;
  readonly units: { readonly serial: string; readonly case: string; readonly verdict: Verdict | 'not assessed' }[];
  readonly blockers: readonly Blocker[];
  readonly record: { readonly number: string; readonly revision: number } | null;
  readonly assessed: boolean;
}

interface StoredAssessment {
  readonly units: {
    serial: string;
    verdict: Verdict;
    why: { effect: Effect; says: string; clearedBy: string; check: string }[];
  }[];
}

/** Lists lots from their latest stored assessments, without assessing any again. */
export class LotOverview {
  constructor(private readonly store: Store) {}

  /** First those that something stands in the way of, needed soonest first; then the others, the latest first. */
  async list(): Promise<LotLine[]> {
    const lots = await this.store.read.list('lot');
    const cases = new Map((await this.store.read.list('case')).map((item) => [item.key, item.body as Case]));
    const lines: LotLine[] = [];
    for (const lot of lots) lines.push(await this.line(lot, cases));
    const open = lines.filter((line) => line.blockers.length > 0 || !line.assessed);
    const clear = lines.filter((line) => !open.includes(line));
    return [...open.sort(bySoonest), ...clear.sort(bySoonest).reverse()];
  }

  private async line(revision: StoredRevision, cases: ReadonlyMap<string, Case>): Promise<LotLine> {
    const lot = revision.body as Lot;
    const stored = await this.store.read.latestAssessment(lot.lot);
    const assessment = stored ? (JSON.parse(stored.body) as StoredAssessment) : undefined;
    const record = (await this.store.read.records(lot.lot)).at(-1);
    const units = lot.implants.map((implant) => ({
      serial: implant.serial,
      case: implant.case,
      verdict: assessment?.units.find((unit) => unit.serial === implant.serial)?.verdict ?? ('not assessed' as const),
    }));
    const days = lot.implants.flatMap((implant) => cases.get(implant.case)?.neededBy ?? []);
    return {
      lot: lot.lot,
      family: lot.family,
      cases: [...new Set(lot.implants.map((implant) => implant.case))],
      neededBy: days.sort()[0] ?? null,
      state: stateOf(units.map((unit) => unit.verdict)),
      units,
      blockers: blockersOf(assessment),
      record: record ? { number: record.number, revision: record.revision } : null,
      assessed: assessment !== undefined,
    };
  }
}

const bySoonest = (a: LotLine, b: LotLine): number =>
  (a.neededBy ?? '9999').localeCompare(b.neededBy ?? '9999', 'en') || a.lot.localeCompare(b.lot, 'en');

function stateOf(verdicts: readonly LotLine['units'][number]['verdict'][]): string {
  if (verdicts.length === 0) return 'a build without implants';
  if (verdicts.every((verdict) => verdict === 'not assessed')) return 'not assessed yet';
  const conforming = verdicts.filter((verdict) => verdict === 'conforms').length;
  if (conforming === verdicts.length) return 'every implant conforms (proposed)';
  return `${conforming} of ${verdicts.length} conform (proposed)`;
}

/** Each reason once, with the implants that it concerns. */
function blockersOf(assessment: StoredAssessment | undefined): Blocker[] {
  const found = new Map<string, Blocker & { units: string[] }>();
  for (const unit of assessment?.units ?? []) {
    for (const why of unit.why) {
      const known = found.get(why.says);
      if (known) known.units.push(unit.serial);
      else found.set(why.says, { ...why, units: [unit.serial] });
    }
  }
  return [...found.values()];
}
