import { type BuiltOnStock, onStock } from '../assessment/stock.js';
import type { Facts } from '../dossier/facts.js';
import type { StockOrigin } from '../dossier/stock-story.js';
import { timeText } from '../dossier/time-text.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Coupon, Implant } from '../kinds/lot.js';
import { PART_FATES } from './phrases/counts.js';
import { STOCK_ROWS } from './phrases/stock-parts.js';

/** One part of a lot and the stock on which it was built, as record and page tell them. */
export interface StockRow {
  readonly part: string;
  readonly stockPart: string;
  readonly was: string;
  readonly face: readonly string[];
  readonly story: readonly string[];
}

/** @param tells whether a part of the lot may be named. */
export function stockRows(facts: Facts, tells: (part: string) => boolean = () => true): StockRow[] {
  const { implants, coupons } = facts.lot.body;
  return [
    ...implants.map((part) => ({ code: part.serial, of: onStock<Implant | Coupon>(facts, part) })),
    ...coupons.map((part) => ({ code: part.coupon, of: onStock<Implant | Coupon>(facts, part) })),
  ].flatMap(({ code, of }) => (of && tells(code) ? [rowOf(code, of)] : []));
}

function rowOf(part: string, { stock: { body }, origins }: BuiltOnStock<Implant | Coupon>): StockRow {
  const { zone, preparation, roughness, prepared = [] } = body.interface;
  const rough = roughness && `${roughness.value} ${tradeUnit(roughness.ucum)}`;
  const { receipt, implant, material, why = '' } = body;
  const was =
    implant === undefined
      ? STOCK_ROWS.bar(material, receipt!)
      : STOCK_ROWS.repaired(material, implant, origins[0]?.lot ?? '', why);
  return {
    ...{ part, stockPart: body.stockPart, was },
    face: [
      STOCK_ROWS.face(zone, preparation, rough),
      ...prepared.map(({ by, at }) => STOCK_ROWS.prepared(by, timeText(at))),
      ...(prepared.length === 0 ? [STOCK_ROWS.notPrepared] : []),
    ],
    story: storyOf(body, origins),
  };
}

function storyOf(
  { takenOff = [], lines = [] }: BuiltOnStock['stock']['body'],
  origins: BuiltOnStock['origins'],
): readonly string[] {
  const told = [
    ...lines.map(({ property, value, ucum }) => `${property} ${value} ${tradeUnit(ucum)}`),
    ...origins.flatMap((origin) => storyOfOrigin(origin)),
    ...takenOff.map(({ implant, at, how }) => STOCK_ROWS.takenOff(implant, timeText(at), how)),
  ];
  return told.length === 0 ? [STOCK_ROWS.nothing] : told;
}

function storyOfOrigin({ builds, heats, corrected = [], events, fate, builtOn }: StockOrigin): string[] {
  const papers = corrected.map((one) => STOCK_ROWS.corrected(one.receipt, one.replaces, one.certificate, one.issued));
  const known = fate && Object.entries(PART_FATES).find(([as]) => as === fate.as);
  return [
    STOCK_ROWS.metal(builds, heats),
    // One that went into several builds is told once.
    ...new Set(papers),
    ...events.map(({ what, at, key }) => STOCK_ROWS.event(what, at.slice(0, 10), key)),
    ...(fate ? [STOCK_ROWS.fate(known?.[1] ?? fate.as, timeText(fate.at), fate.by)] : []),
    ...(builtOn ? [STOCK_ROWS.builtOn(builtOn.stockPart, builtOn.material, builtOn.receipt)] : []),
  ];
}
