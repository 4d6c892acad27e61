import type { CheckCode } from '../assessment/checks/check-code.js';
import { type EarliestRelease, earliestRelease } from '../assessment/earliest-release.js';
import { partsSaid } from '../assessment/parts-in-lot.js';
import { revisionKey } from '../dossier/facts.js';
import type { Method } from '../kinds/method.js';
import type { Specification } from '../kinds/specification.js';
import type { LotNow } from '../kinds/split-lot.js';
import { assessedUnits } from '../lots/assessed-units.js';
import type { Doers } from '../people/authority.js';
import { logsOf, resultsOf } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import type { Pending } from './pending.js';
import { doersOfLot } from './situation.js';

/** What lies ahead of a lot that is not decided, whatever the day and whoever is there. */
export interface LotAhead {
  readonly earliest: EarliestRelease;
  /** Who had which part in it; null where somebody has reviewed it already. */
  readonly doers: Doers | null;
}

/** What is kept of the signing of a lot. */
export interface LotSigning {
  readonly lot: string;
  /** What is not signed of it. */
  readonly pending: readonly Pending[];
  /** Null once each of its implants is decided. */
  readonly ahead: LotAhead | null;
}

/** Who did what is asked as soon as the lot is there: people can still be kept out of its tests. */
export async function aheadOf(read: Reads, lot: LotNow): Promise<LotAhead> {
  const onLot = await read.signatures.of({ kind: 'lot file', key: lot.lot });
  const isReviewed = onLot.some(({ signed }) => signed.statement.meaning === 'reviewed');
  return { earliest: await earliest(read, lot), doers: isReviewed ? null : await doersIn(read, lot) };
}

async function doersIn(read: Reads, lot: LotNow): Promise<Doers> {
  const parts = partsSaid([{ kind: 'lot', key: lot.lot, body: lot }], (await resultsOf(read, lot)).rows);
  const found = (await logsOf(read, lot)).flatMap(({ part }) => part.findings.map(({ id }) => id));
  return doersOfLot(read, lot.lot, parts, found);
}

async function earliest(read: Reads, lot: LotNow): Promise<EarliestRelease> {
  const { specification: code, revision } = lot.specification;
  const specification = (await read.entries.revision('specification', code, revision))!.body;
  const methods = new Map<string, Method>();
  for (const { method } of specification.characteristics) {
    const found = await read.entries.revision('method', method.method, method.revision);
    if (found) methods.set(revisionKey(method.method, method.revision), found.body);
  }
  return earliestRelease({
    ...{ lot, specification },
    methodOf: ({ method }) => methods.get(revisionKey(method.method, method.revision)),
    missing: await missingIn(read, lot.lot, specification),
  });
}

const RESULTS_COMPLETE: CheckCode = 'results-complete';

/** All that is planned, of a lot that was not assessed yet. */
async function missingIn(read: Reads, lot: string, { characteristics }: Specification): Promise<ReadonlySet<string>> {
  const assessed = (await assessedUnits(read, lot)).get(lot);
  if (assessed === undefined) return new Set(characteristics.map(({ characteristic }) => characteristic));
  const found = assessed.checks.find(({ code }) => code === RESULTS_COMPLETE)?.findings ?? [];
  return new Set(found.flatMap(({ facts }) => facts.characteristic ?? []));
}
