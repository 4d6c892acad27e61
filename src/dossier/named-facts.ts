import { AppError } from '../base/errors.js';
import { kindNamed } from '../kinds/catalogue.js';
import { readBody } from '../kinds/formats.js';
import { linksToPin } from '../kinds/links-to-pin.js';
import { lot as lotKind } from '../kinds/lot-document.js';
import { resultSet } from '../kinds/result-set.js';
import { lotNow } from '../kinds/split-lot.js';
import { unitMove } from '../kinds/unit-move.js';
import { type Facts, PART_NAMES } from './facts.js';
import type { Pinned } from './schema.js';

interface Named {
  readonly kind: string;
  readonly key: string;
  readonly revision?: number | undefined;
}

/** Kinds of documents that tell of a lot although it does not name them; what these name is carried with them. */
const ALSO_FOLLOWED: ReadonlySet<string> = new Set([
  ...['process-load', 'exposure', 'storage-place', 'nonconformity', 'changeover', 'route-permission', 'unit-move'],
]);

/**
 * A lot file carries whatever its documents and results name. One that lacks some of it tells less than people signed, and
 * less must never let a unit go: it is not assessed at all.
 * @throws AppError ALTERED, which names what is missing and what names it.
 */
export function demandNamed(facts: Facts): void {
  const carried = new Carried(facts.pinned);
  for (const { kind, key, revision, by } of namedIn(facts, carried)) {
    if (carried.has({ kind, key, revision })) continue;
    const what = revision === undefined ? `${kind} ${key}` : `${kind} ${key} revision ${revision}`;
    throw new AppError('ALTERED', `the lot file lacks ${what}, which ${by} names`, { kind, key });
  }
  const sheets = new Set(facts.pinned.flatMap(({ kind, body }) => (kind === resultSet.kind ? [evidenceOf(body)] : [])));
  const unsigned = facts.results.find(({ evidence }) => !sheets.has(evidence));
  if (unsigned) {
    const { specimen, characteristic } = unsigned;
    throw new AppError('ALTERED', `the lot file lacks the sheet with ${characteristic} of ${specimen}`, { specimen });
  }
  for (const { serial, case: code } of facts.lot.body.implants) {
    if (facts.cases.has(code) || facts.dossier.parts.some(({ name }) => name === PART_NAMES.case(code))) continue;
    throw new AppError('ALTERED', `the lot file lacks the part of case ${code}, for which ${serial} is`, {
      case: code,
    });
  }
}

const evidenceOf = (body: unknown): string => readBody(resultSet, body, () => {}).evidence;

/** What a lot file carries, by kind and key. */
class Carried {
  private readonly revisions = new Map<string, Pinned[]>();

  constructor(pinned: readonly Pinned[]) {
    for (const item of pinned) {
      const name = `${item.kind} ${item.key}`;
      this.revisions.set(name, [...(this.revisions.get(name) ?? []), item]);
    }
  }

  of({ kind, key, revision }: Named): Pinned[] {
    const all = this.revisions.get(`${kind} ${key}`) ?? [];
    return revision === undefined ? all : all.filter((item) => item.revision === revision);
  }

  has = (named: Named): boolean => this.of(named).length > 0;
}

/** Everything that is named, each with what names it: step by step from the lot and from what tells of it. */
function* namedIn(facts: Facts, carried: Carried): Generator<Named & { readonly by: string }> {
  const begun = facts.pinned.filter(({ kind }) => ALSO_FOLLOWED.has(kind));
  const waiting = [lotOf(facts, carried), ...begun];
  const seen = new Set(waiting);
  for (const item of waiting) {
    for (const { kind, key, revision } of linksToPin(item.kind, item.body)) {
      yield { kind, key, revision, by: `${item.kind} ${item.key}` };
      for (const next of carried.of({ kind, key, revision })) {
        if (seen.has(next)) continue;
        seen.add(next);
        waiting.push({ ...next, body: bodyOf(next) });
      }
    }
  }
  yield* namedByResults(facts);
}

const bodyOf = ({ kind, body }: Pinned): unknown => {
  const known = kindNamed(kind);
  return known ? readBody(known, body, () => {}) : body;
};

/** The document of the lot, with what came over from another where it was split from one. */
function lotOf({ dossier, pinned }: Facts, carried: Carried): Pinned {
  const of = (key: string) => carried.of({ kind: lotKind.kind, key })[0];
  const own = of(dossier.lot)!;
  const body = readBody(lotKind, own.body, () => {});
  const origin = body.splitFrom === undefined ? undefined : of(body.splitFrom);
  const moves = pinned
    .filter(({ kind }) => kind === unitMove.kind)
    .map((item) => readBody(unitMove, item.body, () => {}));
  return { ...own, body: lotNow(body, { origin: origin && readBody(lotKind, origin.body, () => {}), moves }) };
}

function* namedByResults({ results }: Facts): Generator<Named & { readonly by: string }> {
  for (const {
    specimen,
    characteristic,
    instrument,
    method,
    methodRevision,
    analyst,
    enteredBy,
    checkedBy,
  } of results) {
    const by = `${characteristic} of ${specimen}`;
    yield { kind: 'method', key: method, revision: Number(methodRevision), by };
    for (const [kind, key] of [
      ['instrument', instrument],
      ...[analyst, enteredBy, checkedBy].map((who) => ['person', who]),
    ])
      if (key !== '') yield { kind: kind!, key: key!, by };
  }
}
