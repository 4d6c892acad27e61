import type { Made } from '../dossier/beside-values.js';
import type { Facts } from '../dossier/facts.js';
import type { Build } from '../kinds/lot.js';
import { consumableUses, usesUpTo } from './consumable-uses.js';
import { exposuresOf } from './exposures.js';
import { latestBefore } from './latest-before.js';
import { powderSharesOfBuild } from './powder-shares.js';
import type { NumberedResult } from './specimens.js';

/** A share of powder that differs by less is none that anybody weighed. */
const SHARE_DIGITS = 3;
const HOUR_MS = 3_600_000;

type OfBuild = Omit<Made, 'analysts' | 'calibrated' | 'batches' | 'measured'>;

/**
 * How values of a build were made and measured: powder, people, upkeep, calibrations, what wears out, medium. What the build
 * alone decides is asked once a build.
 */
export class MadeHow {
  private readonly builds = new Map<string, OfBuild>();

  constructor(private readonly facts: Facts) {}

  of(build: Build, results: readonly NumberedResult[]): Made {
    const known = this.builds.get(build.build) ?? this.ofBuild(build);
    this.builds.set(build.build, known);
    const sorted = (names: readonly string[]) => [...new Set(names)].sort();
    const times = results.map(({ measuredAt }) => measuredAt).sort((a, b) => Date.parse(a) - Date.parse(b));
    const pieces = new Set(results.map(({ specimen, piece }) => `${specimen} ${piece}`));
    return {
      ...known,
      analysts: sorted(results.map(({ analyst }) => analyst)),
      calibrated: sorted(results.map(({ instrument }) => instrument)).map((instrument) =>
        this.calibrated(
          instrument,
          results.filter((one) => one.instrument === instrument).map(({ measuredAt }) => measuredAt),
        ),
      ),
      batches: sorted(
        exposuresOf(this.facts)
          .filter(({ specimen, piece }) => pieces.has(`${specimen} ${piece ?? ''}`))
          .map(({ batch }) => batch),
      ),
      measured: times.length === 0 ? null : { from: times[0]!, to: times.at(-1)! },
    };
  }

  private ofBuild(build: Build): OfBuild {
    const { machines, consumables } = this.facts;
    const { closedAt } = build;
    const maintained = (machines.get(build.machine)?.body.upkeep ?? []).filter(({ what }) => what === 'maintenance');
    const worn = consumableUses(this.facts).filter(({ usedIn }) => usedIn.key === build.build);
    return {
      powder: this.powder(build),
      operator: build.operator,
      maintained: latestBefore(maintained, closedAt)?.at ?? null,
      worn: [...new Set(worn.map(({ consumable }) => consumable))].sort().flatMap((consumable) => {
        const document = consumables.get(consumable)?.body;
        if (document === undefined) return [];
        const { category, inUseFrom } = document;
        const hours = Math.max(0, Math.round((Date.parse(closedAt) - Date.parse(inUseFrom)) / HOUR_MS));
        return [{ consumable, category, uses: usesUpTo(this.facts, consumable, closedAt), hours }];
      }),
    };
  }

  /** By heat and supplier; what a supplier named no heat of stands under the supplier's lot. */
  private powder({ build }: Build): Made['powder'] {
    const found = new Map<string, { heat: string; supplier: string; share: number }>();
    for (const { receipt, fraction } of powderSharesOfBuild(this.facts, build)) {
      const body = this.facts.receipts.get(receipt)?.body;
      if (body === undefined) continue;
      const heat = body.heats.length === 0 ? body.supplierLot : body.heats.join('+');
      const key = `${body.supplier} ${heat}`;
      found.set(key, { heat, supplier: body.supplier, share: (found.get(key)?.share ?? 0) + fraction });
    }
    return [...found.entries()]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([, one]) => ({ ...one, share: Number(one.share.toFixed(SHARE_DIGITS)) }));
  }

  private calibrated(instrument: string, uses: readonly string[]): Made['calibrated'][number] {
    const calibrations = this.facts.instruments.get(instrument)?.body.calibrations ?? [];
    const [first] = uses.toSorted((a, b) => Date.parse(a) - Date.parse(b));
    const isOverdue = uses.some((at) => {
      const last = latestBefore(calibrations, at);
      return last === undefined || Date.parse(at) > Date.parse(last.due);
    });
    const at = latestBefore(calibrations, first!)?.at ?? null;
    return { instrument, at, ...(isOverdue ? { overdue: true as const } : {}) };
  }
}
