import { closuresOf } from '../kinds/build-chain.js';
import type { Lot } from '../kinds/lot.js';
import type { LotNow } from '../kinds/split-lot.js';
import type { CurrentAssessments } from '../lots/current-assessments.js';
import type { LotOverview } from '../lots/lot-overview.js';
import { currentLots } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import type { Store } from '../store/store.js';

/** What answers of auditor questions have in common. */

export interface AskedByAuditor {
  readonly store: Store;
  readonly current: CurrentAssessments;
  readonly overview: LotOverview;
  /** Whether a moment lies in the period that is asked for. */
  readonly within: (moment: string) => boolean;
}

/** Texts in the columns of a question. */
export type Rows = readonly (readonly string[])[];

/** When the first chamber of a lot was closed, or will be. */
export const startOf = ({ builds }: Lot): string =>
  builds.map(({ closedAt }) => closedAt).sort((a, b) => Date.parse(a) - Date.parse(b))[0] ?? '';

/** Lots of the period, the earliest first. */
export async function lotsWithin({ store, within }: Pick<AskedByAuditor, 'store' | 'within'>): Promise<LotNow[]> {
  return (await lotsInOrder(store)).filter((lot) => within(startOf(lot)));
}

/** All lots, the earliest first: what was done on a lot may lie in another period than the closing of its chamber. */
export async function lotsInOrder({ read }: Pick<Store, 'read'>): Promise<LotNow[]> {
  const lots = await currentLots(read);
  return lots.sort((a, b) => Date.parse(startOf(a)) - Date.parse(startOf(b)));
}

export const partsIn = ({ implants, coupons }: Lot, build: string) =>
  [...implants, ...coupons].filter((part) => closuresOf(part).includes(build));

/** Statements on a revision of a document. */
export async function signedOnRevision(read: Reads, kind: string, key: string, revision: number) {
  const found = await read.entries.revision(kind, key, revision);
  return found === undefined ? [] : signedOnDigest(read, found.digest);
}

export const signedOnDigest = async ({ signatures }: Pick<Reads, 'signatures'>, digest: string) =>
  (await signatures.on([digest])).map((one) => one.signed.statement);

export const inOrder = (rows: readonly string[][]): string[][] =>
  [...rows].sort((a, b) => (a.join(' ') < b.join(' ') ? -1 : 1));
