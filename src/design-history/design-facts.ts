import type { ApprovalStanding } from '../dossier/approval-standing.js';
import type { BodyOf } from '../kinds/catalogue.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import type { Simulation } from '../kinds/degradation/simulation.js';
import type { EntryRef } from '../kinds/references.js';

/** What is known of the design of one family on one day. Whoever reads the store lays it together; nothing here reads. */

/** One revision of any entry that the design of a family speaks of. */
export interface DesignRevision<K extends string = string> extends ApprovalStanding {
  readonly kind: K;
  readonly key: string;
  readonly revision: number;
  readonly name: string;
  /** SHA-256 of its canonical JSON. */
  readonly digest: string;
  readonly recordedAt: string;
  readonly body: BodyOf<K>;
  readonly withdrawn: boolean;
}

/** Whether a revision is of a kind, and so its body that of the kind: it was read by its schema. */
export const isOfKind = <K extends string>(one: DesignRevision, kind: K): one is DesignRevision<K> => one.kind === kind;

/** A lot that studies name. */
export interface StudiedLot {
  readonly family: string;
  /** Values on record that no correction replaced. */
  readonly values: readonly StudiedValue[];
  /** What a loss follows from; only of lots of which one is held against a window. */
  readonly exposed?: ExposedLot | undefined;
}

/** Everything of a lot that was exposed, with what its specimens speak for. */
export interface ExposedLot {
  /** The current revision of each exposure of its parts, in the order of their keys. */
  readonly exposures: readonly {
    readonly key: string;
    readonly revision: number;
    readonly digest: string;
    readonly body: Exposure;
  }[];
  readonly parts: readonly {
    readonly part: string;
    /** Closure in which it was built. */
    readonly build: string;
    /** Equivalence study by which a coupon speaks for implants; null for implants and where a coupon names none. */
    readonly study: { readonly study: string; readonly revision: number } | null;
    /** What of a coupon that study has to cover; null for implants, which speak for themselves. */
    readonly made: CouponMade | null;
  }[];
}

/** How and when a coupon was built; null what its lot does not say. */
export interface CouponMade {
  readonly machine: string | null;
  /** When the chamber of its build was closed. */
  readonly closedAt: string | null;
  readonly recipeGroup: string | null;
  readonly position: string | null;
  readonly orientation: string | null;
}

export interface StudiedValue {
  readonly characteristic: string;
  readonly specimen: string;
  readonly piece: string;
  readonly replicate: string;
  /** Decimal, or a bound such as `<0.1`. */
  readonly value: string;
  readonly ucum: string;
}

export interface ReviewedStatement {
  readonly characteristic: string;
  readonly number: number;
  readonly digest: string;
  /** Lower bound of its index; null where it states none. */
  readonly lower: number | null;
}

export interface DesignFacts {
  readonly family: string;
  /** `2031-05-04`: the day on which it is asked. */
  readonly today: string;
  /** Every revision on record of the documents of the family and of all that they pin, in any order. */
  readonly revisions: readonly DesignRevision[];
  /** Of each characteristic the last statement of capability that quality reviewed. */
  readonly statements: readonly ReviewedStatement[];
  readonly lots: ReadonlyMap<string, StudiedLot>;
  /** Lot of each implant and coupon that studies name. */
  readonly lotOfPart: ReadonlyMap<string, string>;
  /** From which seed losses are simulated where first order is not enough, and in how many draws. */
  readonly simulation: Simulation;
}

export const refText = ({ kind, key }: EntryRef): string => `${kind} ${key}`;
