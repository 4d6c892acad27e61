import { NotFoundError } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import { closurePart, dispositionPart, type Nonconformity } from '../kinds/nonconformity.js';
import { neverConceded } from '../lots/never-conceded.js';
import { findAddress } from '../report/page-addresses.js';
import { DISPOSITIONS } from '../report/phrases/dispositions.js';
import { kindText } from '../report/phrases/kinds.js';
import { NONCONFORMITY_SHOWN, THINGS } from '../report/phrases/things.js';
import type { Reads } from '../store/repositories.js';
import type { LatestLot } from './lots-behind.js';
import type { Signable } from './signable.js';
import type { Thing } from './thing.js';

/**
 * What becomes of all that a nonconformity touches, or that it is closed, as it reads now.
 * @throws NotFoundError when there is no such nonconformity, or it says nothing of that yet.
 */
export async function nonconformityToSign(read: Reads, latest: LatestLot, { kind, key }: Thing): Promise<Signable> {
  const { body } = await read.entries.currentOrThrow('nonconformity', key);
  const isClosure = kind === 'nonconformity';
  const part = isClosure ? closurePart(body, digestOf) : dispositionPart(body, digestOf);
  if (part === undefined) throw new NotFoundError(isClosure ? THINGS.closureOf : kindText(kind), key);
  // What comes in is refused by the same rule; the lot may have changed since.
  const never = isClosure ? undefined : await neverConceded(read, latest, body);
  return {
    subject: { ...part, revision: null },
    title: isClosure ? THINGS.closure(key) : THINGS.disposition(key),
    lot: null,
    shows: shownOf(body),
    touches: body.touches.filter((thing) => thing.kind === 'implant').map((thing) => thing.key),
    page: findAddress(key),
    doers: {},
    ...(isClosure ? {} : { outcomes: ['accepted', 'rejected'] }),
    ...(never ? { refused: { code: 'never conceded' as const, facts: never } } : {}),
  };
}

function shownOf({ says, touches, evaluation, disposition = [], closure }: Nonconformity): Signable['shows'] {
  return [
    [NONCONFORMITY_SHOWN.says, says],
    [NONCONFORMITY_SHOWN.touches, touches.map(({ kind, key }) => `${kindText(kind)} ${key}`).join(', ')],
    [NONCONFORMITY_SHOWN.cause, evaluation?.cause ?? NONCONFORMITY_SHOWN.none],
    [NONCONFORMITY_SHOWN.riskFile, evaluation?.riskFile ?? NONCONFORMITY_SHOWN.none],
    ...disposition.map(({ units, as, clause, justification }): readonly [string, string] => [
      units.join(', '),
      NONCONFORMITY_SHOWN.becomes(DISPOSITIONS[as], clause, justification),
    ]),
    ...(closure ? [[NONCONFORMITY_SHOWN.closure, closure.says] as const] : []),
  ];
}
