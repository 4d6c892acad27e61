import { NotFoundError } from '../base/errors.js';
import { revisionSubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import { findAddress } from '../report/page-addresses.js';
import { kindText } from '../report/phrases/kinds.js';
import { RISK_BUILD_SHOWN, SHOWN, THINGS } from '../report/phrases/things.js';
import { receiptStatusText } from '../report/phrases/trade-codes.js';
import type { Reads } from '../store/repositories.js';
import type { Signable } from './signable.js';
import type { Thing } from './thing.js';

/**
 * A build from material in quarantine, as it is asked for, with how its receipts stand now.
 * @throws NotFoundError when nobody asked for it.
 */
export async function riskBuildToSign({ entries }: Reads, { key, revision }: Thing): Promise<Signable> {
  const found =
    revision === null ? await entries.current('risk-build', key) : await entries.revision('risk-build', key, revision);
  if (!found) throw new NotFoundError(kindText('risk-build'), key);
  const { build, receipts, implants, why, by, at } = found.body;
  const shows: [string, string][] = [[RISK_BUILD_SHOWN.build, build]];
  for (const code of receipts) {
    const receipt = await entries.currentOrThrow('receipt', code);
    shows.push([code, `${SHOWN.supplied(receipt.body)}, ${receiptStatusText(receipt.body.status)}`]);
  }
  return {
    subject: revisionSubject(found),
    title: THINGS.document(found),
    lot: null,
    shows: [
      ...shows,
      [RISK_BUILD_SHOWN.implants, implants.join(', ')],
      [RISK_BUILD_SHOWN.why, why],
      [RISK_BUILD_SHOWN.asked, `${by}, ${timeText(at)}`],
    ],
    touches: implants,
    page: findAddress(key),
    doers: {},
    outcomes: ['accepted', 'rejected'],
  };
}
