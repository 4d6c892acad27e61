import { type HeatShare, heatShares } from '../assessment/heat-shares.js';
import { powderSharesOfBuild } from '../assessment/powder-shares.js';
import type { Facts } from '../dossier/facts.js';
import { closuresOf } from '../kinds/build-chain.js';
import type { Implant } from '../kinds/lot.js';
import { percentParts } from './phrases/powder-shares.js';

/** How much of what a closure of an implant took is of one heat. */
export interface MetalRow extends HeatShare {
  readonly build: string;
  /** To a tenth; the parts of a build add up to 100.0. */
  readonly percent: string;
}

/** The metal of an implant by heat, closure by closure; nothing for a closure that only finished it. */
export const metalRows = (facts: Facts, implant: Implant): MetalRow[] =>
  closuresOf(implant).flatMap((build) => {
    const shares = heatShares(facts, powderSharesOfBuild(facts, build));
    const parts = percentParts(shares.map(({ fraction }) => fraction));
    return shares.map((share, index) => ({ ...share, build, percent: parts[index]! }));
  });
