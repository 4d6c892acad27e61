import type { ReleaseStep } from '../dossier/release-step.js';

/** An implant with its verdict and what was decided on it. */
export interface StoodUnit {
  readonly serial: string;
  readonly verdict: string;
  readonly decision: string;
  readonly releasedFor: readonly ReleaseStep[];
  readonly hold: string | null;
}

/** Implants of which all the same is said, as one, in the order of the first of each. */
export function unitsTogether<U extends StoodUnit>(units: readonly U[]): (Omit<U, 'serial'> & { serials: string[] })[] {
  const found = new Map<string, Omit<U, 'serial'> & { serials: string[] }>();
  for (const { serial, ...stands } of units) {
    const { verdict, decision, releasedFor, hold } = stands;
    const name = JSON.stringify([verdict, decision, releasedFor, hold]);
    const known = found.get(name);
    if (known) known.serials.push(serial);
    else found.set(name, { ...stands, serials: [serial] });
  }
  return [...found.values()];
}
