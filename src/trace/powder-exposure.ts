import { shareOf } from '../assessment/powder-shares.js';
import type { TieName } from '../kinds/ties.js';
import type { Reads } from '../store/repositories.js';
import type { Reach } from '../store/traces.js';
import type { BuildShare, StateShare } from './traced.js';

/** Kinds of which a share goes into parts. */
const POWDERS = ['heat', 'receipt', 'powder-state'];
const MADE_OF_IT = ['build', 'powder-state'];
const OF_HEAT = 'contains heat' satisfies TieName;
const IN_BUILD = 'built in' satisfies TieName;

/** Where a powder went, by mass. */
export interface PowderExposure {
  /** By serial: its fraction in what each build took in which the implant was made. */
  readonly inUnits: ReadonlyMap<string, readonly BuildShare[]>;
  /** Its fraction in each powder state that was made of it. */
  readonly inStates: readonly StateShare[];
}

export const NO_EXPOSURE: PowderExposure = { inUnits: new Map(), inStates: [] };

/**
 * How much of a powder is in everything that it went into. A receipt of several heats counts whole for each of them.
 * @param went everything that it went into.
 */
export async function powderExposure(
  { trace }: Pick<Reads, 'trace'>,
  { id, kind }: { readonly id: number; readonly kind: string },
  went: Reach,
  asOf: number | undefined,
): Promise<PowderExposure> {
  if (!POWDERS.includes(kind)) return NO_EXPOSURE;
  const of =
    kind === 'heat'
      ? went.ties.flatMap(({ name, target, source }) => (name === OF_HEAT && target === id ? [source] : []))
      : [id];
  const byId = new Map(went.entries.map((entry) => [entry.id, entry]));
  const made = went.entries.filter((entry) => MADE_OF_IT.includes(entry.kind) && entry.id !== id);
  if (made.length === 0) return NO_EXPOSURE;
  const share = shareOf(
    new Set(of),
    await trace.reach(
      made.map((entry) => entry.id),
      'back',
      asOf,
    ),
  );
  const inUnits = new Map<string, BuildShare[]>();
  for (const { name, source, target } of went.ties) {
    const [part, build] = [byId.get(source), byId.get(target)];
    const fraction = share.get(target) ?? 0;
    if (name !== IN_BUILD || part?.kind !== 'implant' || build === undefined || fraction === 0) continue;
    inUnits.set(part.key, [...(inUnits.get(part.key) ?? []), { build: build.key, fraction }]);
  }
  const inStates = made.flatMap((entry): StateShare[] => {
    const fraction = share.get(entry.id) ?? 0;
    return entry.kind === 'powder-state' && fraction > 0 ? [{ state: entry.key, fraction }] : [];
  });
  return { inUnits, inStates: inStates.sort((a, b) => (a.state < b.state ? -1 : 1)) };
}
