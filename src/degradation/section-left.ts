import { CalculationError } from '../base/errors.js';
import { type SectionRow, sectionTableFault } from '../kinds/cases/load-section.js';
import { requirePositive } from '../statistics/guards.js';
import { POWERS } from './residual-section.js';

/** The section that carries the load: a plate or a round core by its size, or what is left of any section by depth. */
export type LoadSection =
  | { readonly shape: 'plate' | 'round'; readonly sizeMm: number }
  | { readonly shape: 'table'; readonly rows: readonly SectionRow[] };

export interface SectionLeft {
  /** Section modulus, as a fraction of the start. */
  readonly strength: number;
  /** Second moment of area, as a fraction of the start. */
  readonly stiffness: number;
  /** Area, as a fraction of the start. */
  readonly area: number;
}

/**
 * What is left of a section after a depth on every face.
 * @param beyond what a table says of a greater depth than its last row: nothing but that no more is left than there.
 * @throws CalculationError for a size not above zero, or a table that does not fall from its first row on.
 */
export function sectionLeft(section: LoadSection, depthUm: number, beyond: 'none' | 'last row' = 'none'): SectionLeft {
  if (section.shape === 'table') return fromTable(section.rows, depthUm, beyond);
  requirePositive(section.sizeMm, 'section.sizeMm');
  const ratio = Math.max(0, 1 - (2 * depthUm) / (1000 * section.sizeMm));
  const { tension, strength, stiffness } = POWERS[section.shape];
  return { area: ratio ** tension, strength: ratio ** strength, stiffness: ratio ** stiffness };
}

/** The depth, in µm, up to which a section keeps so much of its strength and stiffness. */
export function limitDepthUm(section: LoadSection, least: Pick<SectionLeft, 'strength' | 'stiffness'>): number {
  let [low, high] = [0, endOf(section).stands];
  const keeps = (depthUm: number) => {
    const { strength, stiffness } = sectionLeft(section, depthUm);
    return strength >= least.strength && stiffness >= least.stiffness;
  };
  if (keeps(high)) return high;
  for (let round = 0; round < 50; round += 1) {
    const middle = (low + high) / 2;
    if (keeps(middle)) low = middle;
    else high = middle;
  }
  return low;
}

/** The depth, in µm, below which some of a section is known to be left, and that from which on none is. */
export function endOf(section: LoadSection): { readonly stands: number; readonly gone: number } {
  if (section.shape !== 'table') return { stands: 500 * section.sizeMm, gone: 500 * section.sizeMm };
  const none = section.rows.find(({ areaMm2 }) => areaMm2 === 0)?.depthUm;
  // A table that ends before nothing is left does not say when that is.
  return { stands: none ?? section.rows.at(-1)!.depthUm, gone: none ?? Number.POSITIVE_INFINITY };
}

function fromTable(rows: readonly SectionRow[], depthUm: number, beyond: 'none' | 'last row'): SectionLeft {
  const [first] = rows;
  if (!first || rows.length < 2) throw new CalculationError('section.rows', 'needs at least two rows');
  const fault = sectionTableFault(rows);
  if (fault) throw new CalculationError(`section.rows.${fault.field}`, `must be ${fault.expected}`);
  const next = rows.findIndex((row) => row.depthUm >= depthUm);
  if (next === -1 && beyond === 'none') return { area: 0, strength: 0, stiffness: 0 };
  const after = rows.at(next)!;
  const before = rows[Math.max(0, next - 1)]!;
  const part = next <= 0 ? 1 : (depthUm - before.depthUm) / (after.depthUm - before.depthUm);
  const of = (name: 'areaMm2' | 'sectionModulusMm3' | 'secondMomentMm4') =>
    (before[name] + part * (after[name] - before[name])) / first[name];
  return { area: of('areaMm2'), strength: of('sectionModulusMm3'), stiffness: of('secondMomentMm4') };
}
