import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { Pinned } from '../dossier/schema.js';
import type { Statement } from '../dossier/statement.js';
import { readBody } from '../kinds/formats.js';
import { closurePart, dispositionPart, type Nonconformity, nonconformity } from '../kinds/nonconformity.js';
import { type Decided, decisionOn } from './finding-decisions.js';
import { signedOn } from './signed.js';
import { unitsOfSpecimen } from './specimens.js';

/** A nonconformity as it stands in a lot file, with what people signed on it. */
export interface NonconformityOfLot {
  readonly document: Pinned & { readonly body: Nonconformity };
  /** Implants of the lot that it touches: by themselves, through coupons, or through what went into the lot. */
  readonly units: readonly string[];
  /** Of the disposition as it reads now: undefined while there is none, or nobody signed it. */
  readonly decided: Decided | undefined;
  readonly closed: Statement | undefined;
}

/** Every nonconformity that touches the lot, in the order of their codes. */
export const nonconformitiesOf = (facts: Facts): NonconformityOfLot[] =>
  facts.dossier.pinned
    .filter(({ kind }) => kind === nonconformity.kind)
    .map((item) => ({ ...item, body: readBody(nonconformity, item.body, () => {}) }))
    .flatMap((document) => {
      const units = unitsTouched(facts, document.body);
      if (units.length === 0) return [];
      const disposition = dispositionPart(document.body, digestOf);
      const closure = closurePart(document.body, digestOf);
      return [
        {
          document,
          units,
          decided: disposition && decisionOn(facts, { id: disposition.digest }),
          closed: closure && signedOn(facts, closure, 'approved')[0],
        },
      ];
    });

/** What becomes of an implant of the lot by a nonconformity, or undefined where nothing is said of it. */
export const dispositionOf = ({ disposition = [] }: Nonconformity, part: string) =>
  disposition.find(({ units }) => units.includes(part));

/** Implants of the lot with what their concessions say, by decided dispositions. */
export const concededIn = ({ document, decided, units }: NonconformityOfLot) =>
  decided?.outcome === 'accepted'
    ? units.flatMap((unit) => {
        const found = dispositionOf(document.body, unit);
        return found?.as === 'concession' ? [{ unit, clause: found.clause ?? '' }] : [];
      })
    : [];

/**
 * By finding, the implants that may go although it stands, each with its nonconformity: one that follows from the finding,
 * with a decided concession that names the implant. What is never conceded stays as it is (docs/trade.md 2.13).
 */
export function concessionsOf(facts: Facts): ReadonlyMap<string, ReadonlyMap<string, string>> {
  const found = new Map<string, Map<string, string>>();
  for (const one of nonconformitiesOf(facts)) {
    const { key, body } = one.document;
    const units = concededIn(one).map(({ unit }) => [unit, key] as const);
    for (const id of body.findings ?? []) found.set(id, new Map([...(found.get(id) ?? []), ...units]));
  }
  return found;
}

function unitsTouched(facts: Facts, { touches }: Nonconformity): string[] {
  const { lot, dossier } = facts;
  const serials = lot.body.implants.map(({ serial }) => serial);
  const touched = new Set(
    touches.flatMap(({ kind, key }) => {
      if (kind === 'implant') return [key];
      if (kind === 'coupon') return unitsOfSpecimen(facts, key);
      return dossier.pinned.some((item) => item.kind === kind && item.key === key) ? serials : [];
    }),
  );
  return serials.filter((serial) => touched.has(serial));
}
