import { NotFoundError } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import { closurePart, dispositionPart, type Nonconformity } from '../kinds/nonconformity.js';
import { findAddress } from '../report/page-addresses.js';
import { DISPOSITIONS } from '../report/phrases/dispositions.js';
import { kindText } from '../report/phrases/kinds.js';
import type { Objection } from '../report/phrases/objections.js';
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
  const refused = isClosure ? undefined : await neverConceded(read, latest, body);
  return {
    subject: { ...part, revision: null },
    title: isClosure ? THINGS.closure(key) : THINGS.disposition(key),
    lot: null,
    shows: shownOf(body),
    touches: body.touches.filter((thing) => thing.kind === 'implant').map((thing) => thing.key),
    page: findAddress(key),
    doers: {},
    ...(isClosure ? {} : { outcomes: ['accepted', 'rejected'] }),
    ...(refused ? { refused } : {}),
  };
}

/** A concession of what no rationale repairs is signed by nobody (docs/trade.md 2.13). */
async function neverConceded(
  read: Reads,
  latest: LatestLot,
  { touches, findings = [], disposition = [] }: Nonconformity,
): Promise<Objection | undefined> {
  const conceded = disposition.flatMap(({ as, units }) => (as === 'concession' ? units : []));
  if (conceded.length === 0 || findings.length === 0) return undefined;
  const implants = touches.filter(({ kind, key }) => kind === 'implant' && conceded.includes(key));
  const lots = new Set<string>();
  for (const { key } of implants) lots.add((await read.entries.currentOrThrow('implant', key)).body.lot);
  for (const lot of lots) {
    for (const { code, findings: found } of (await latest(lot))?.assessment.checks ?? []) {
      const first = found.find(
        ({ id, mayBeDecided, units }) =>
          mayBeDecided === 'no' && findings.includes(id) && units.some((unit) => conceded.includes(unit)),
      );
      if (first) return { code: 'never conceded', facts: { check: code, finding: first } };
    }
  }
  return undefined;
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
