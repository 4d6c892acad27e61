import { digestOf } from '../dossier/canonical.js';
import { balanceOf } from '../dossier/unit-places.js';
import type { Disposal } from '../kinds/after-release/disposal.js';
import { fateOf } from '../kinds/lot-after-build.js';
import { dispositionPart } from '../kinds/nonconformity.js';
import { type PlacedPart, placesOfAllLots } from '../lots/unit-places.js';
import { AUDITOR_ANSWERS } from '../report/phrases/auditor-questions.js';
import { kindText } from '../report/phrases/kinds.js';
import { balanceText, placeText } from '../report/phrases/places.js';
import type { Reads } from '../store/repositories.js';
import { type AskedByAuditor, lotsWithin, type Rows, signedOnDigest, startOf } from './auditor-asked.js';

/** What auditors ask of where parts went, and of when something was known. */

/** Each lot counted: what was made of it, and where all of it is. */
export async function countedUnits(asked: AskedByAuditor): Promise<Rows> {
  const placed = await placesOfAllLots(asked.store.read);
  const byLot = new Map<string, PlacedPart[]>();
  for (const part of placed) byLot.set(part.lot, [...(byLot.get(part.lot) ?? []), part]);
  return (await lotsWithin(asked)).flatMap((lot) =>
    (['implant', 'coupon'] as const).flatMap((kind) => {
      const parts = (byLot.get(lot.lot) ?? []).filter((part) => part.kind === kind);
      if (parts.length === 0) return [];
      const counted = parts.map(({ key, place, course }) => ({ key, place, contradicted: course.faults.length > 0 }));
      const { made, unaccounted } = balanceOf(counted);
      return [
        [lot.lot, startOf(lot), kindText(kind), String(made), balanceText(balanceOf(counted)), unaccounted.join(' ')],
      ];
    }),
  );
}

/** What was rejected, scrapped or destroyed: how, by whom, and who saw it. */
export async function destroyed({ store: { read }, within }: AskedByAuditor): Promise<Rows> {
  const disposals = (await read.entries.list('disposal')).map(({ body }) => body);
  const gone = new Set(disposals.flatMap((one) => [...(one.implants ?? []), ...(one.coupons ?? [])]));
  const lots = new Map((await read.entries.list('lot')).map(({ body }) => [body.lot, body]));
  const placed = await placesOfAllLots(read);
  const lotOf = new Map(placed.map(({ key, lot }) => [key, lot]));
  const kept = placed.flatMap(({ key, lot, place, since }: PlacedPart): string[][] => {
    if (gone.has(key) || (place !== 'scrapped' && place !== 'rejected') || since === null) return [];
    const fate = place === 'scrapped' ? fateOf(lots.get(lot) ?? {}, key) : undefined;
    return [[key, lot, placeText(place), since, '', AUDITOR_ANSWERS.noDisposal, fate?.by ?? '', '']];
  });
  const rows = [...disposals.flatMap((one) => thingsDestroyed(one, lotOf)), ...kept];
  return rows.filter(([, , , at]) => within(at!)).sort((a, b) => Date.parse(a[3]!) - Date.parse(b[3]!));
}

function thingsDestroyed(
  { disposal, implants = [], coupons = [], powder = [], consumables = [], at, how, by, witness }: Disposal,
  lotOf: ReadonlyMap<string, string>,
): string[][] {
  const things = [...implants, ...coupons].map((key) => [key, lotOf.get(key) ?? '', placeText('destroyed')]);
  const masses = powder.map(({ state, massG }) => [state, '', AUDITOR_ANSWERS.grams(massG)]);
  const others = consumables.map((key) => [key, '', placeText('destroyed')]);
  return [...things, ...masses, ...others].map((thing) => [...thing, at, disposal, how, by, witness]);
}

/** When something was known, when it came on record, and who decided on it. */
export async function known({ store: { read }, within }: AskedByAuditor): Promise<Rows> {
  const first = async (kind: 'nonconformity' | 'complaint' | 'impact') => {
    const found = new Map<string, string>();
    for (const { key, recordedAt } of await read.entries.allRevisions(kind)) {
      if (!found.has(key)) found.set(key, recordedAt);
    }
    return found;
  };
  const rows: string[][] = [];
  const [opened, received, looked] = [await first('nonconformity'), await first('complaint'), await first('impact')];
  for (const { key, body } of await read.entries.list('nonconformity')) {
    const part = dispositionPart(body, digestOf);
    const decided = part === undefined ? [] : await decidedOn(read, part.digest);
    const { by, at } = body.opened;
    rows.push([
      ...[at, kindText('nonconformity'), key, body.says, by, opened.get(key) ?? '', decided.join('; ')],
      body.closure === undefined
        ? AUDITOR_ANSWERS.open
        : AUDITOR_ANSWERS.approvedBy(body.closure.by, body.closure.at.slice(0, 10)),
    ]);
  }
  for (const { key, body } of await read.entries.list('complaint')) {
    const evaluated = (body.evaluated ?? []).map((one) =>
      AUDITOR_ANSWERS.evaluated(one.law, one.reportable, one.by, one.at.slice(0, 10)),
    );
    const reported = (body.reports ?? []).map((one) => AUDITOR_ANSWERS.reported(one.law, one.at.slice(0, 10)));
    rows.push([
      ...[body.received.at, kindText('complaint'), key, body.says, body.received.by, received.get(key) ?? ''],
      ...[evaluated.join('; '), reported.join('; ')],
    ]);
  }
  for (const { key, body, digest } of await read.entries.list('impact')) {
    const decided = await decidedOn(read, digest);
    const says = `${kindText(body.cause.kind)} ${body.cause.key}: ${body.conclusion}`;
    rows.push([body.to, kindText('impact'), key, says, '', looked.get(key) ?? '', decided.join('; '), '']);
  }
  return rows.filter(([at]) => within(at!)).sort((a, b) => Date.parse(a[0]!) - Date.parse(b[0]!));
}

const decidedOn = async (read: Reads, digest: string): Promise<string[]> =>
  (await signedOnDigest(read, digest)).map(({ person, at }) =>
    AUDITOR_ANSWERS.approvedBy(person.code, at.slice(0, 10)),
  );
