import { NotFoundError } from '../base/errors.js';
import { revisionSubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import { findAddress } from '../report/page-addresses.js';
import { kindText } from '../report/phrases/kinds.js';
import { IMPACT_SHOWN, THINGS } from '../report/phrases/things.js';
import type { Reads } from '../store/repositories.js';
import type { Signable } from './signable.js';
import type { Thing } from './thing.js';

/**
 * What it meant that something was found off, as it reads now.
 * @throws NotFoundError when there is no such impact assessment.
 */
export async function impactToSign({ entries }: Reads, { key, revision }: Thing): Promise<Signable> {
  const found =
    revision === null ? await entries.current('impact', key) : await entries.revision('impact', key, revision);
  if (!found) throw new NotFoundError(kindText('impact'), key);
  const { cause, from, to, bias, uncertainty, results, decisions = [], conclusion } = found.body;
  return {
    subject: revisionSubject(found),
    title: THINGS.document(found),
    lot: null,
    shows: [
      [IMPACT_SHOWN.cause, `${kindText(cause.kind)} ${cause.key}`],
      [IMPACT_SHOWN.time, `${timeText(from)} – ${timeText(to)}`],
      ...(bias ? [[IMPACT_SHOWN.bias, `${bias.value} ${bias.ucum}`] as const] : []),
      ...(uncertainty ? [[IMPACT_SHOWN.uncertainty, `${uncertainty.value} ${uncertainty.ucum}`] as const] : []),
      [IMPACT_SHOWN.results, String(results.count)],
      ...decisions.map(({ implant, as }) => [implant, as] as const),
      [IMPACT_SHOWN.conclusion, conclusion],
    ],
    touches: decisions.map(({ implant }) => implant),
    page: findAddress(key),
    doers: {},
    outcomes: ['accepted', 'rejected'],
  };
}
