import { couponsFor } from './acceptance.js';
import { type Carried, digest, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { linesAsked, standing } from './checks-of-materials.js';
import { type OnStock, onStock, originsUnder, storyOf } from './stock-origins.js';
import { approvalOf, BLOCKS, C, D, FAILS, type Found, found, isApproved, unapproved } from './words.js';

function stockDigest({ stockPart, material, interface: face, ...more }: Json): string {
  const own = ['receipt', 'implant', 'why', 'mesh', 'lines', 'takenOff'].filter((name) => more[name] !== undefined);
  return digest({
    ...{ stockPart, material, zone: face.zone, preparation: face.preparation },
    ...Object.fromEntries(own.map((name) => [name, more[name]])),
    ...(face.roughness === undefined ? {} : { roughness: face.roughness }),
  });
}

function classOf(carried: Carried, { part, stock }: OnStock): string | undefined {
  const name = stock.interface.zone;
  const zone =
    part.zones.find((one: Json) => one.zone === name) ?? part.zones.find((one: Json) => one.recipeZone === name);
  const recipe = carried.pinned('recipe', part.recipe.recipe, part.recipe.revision);
  return recipe.body.zones.find((one: Json) => one.zone === zone?.recipeZone)?.class;
}

function ofOrigin(carried: Carried, on: OnStock): Found[] {
  if (on.stock.implant === undefined) return [];
  const chain = originsUnder(carried, on);
  if (chain.length === 0) return [found('not given up', on.units)];
  return chain.flatMap((origin) => ofOneOrigin(origin, on.units));
}

function ofOneOrigin(origin: Json, units: readonly string[]): Found[] {
  const isImplanted = origin.events.some((one: Json) => one.kind === 'outcome' && one.what === 'implanted');
  const telling = (...words: string[]): Json[] => origin.events.filter(({ what }: Json) => words.includes(what));
  return [
    ...telling('scrap', 'return', 'destroyed', 'destroyed there', 'explanted').map(() =>
      found('not to be built on', units, FAILS),
    ),
    ...telling('not decided', 'lost').map(() => found('left open', units)),
    ...(isImplanted ? [found('was implanted', units, FAILS)] : []),
    ...(!isImplanted && origin.events.some(({ kind }: Json) => kind === 'handover')
      ? [found('left the cell', units, FAILS)]
      : []),
    ...(origin.fate?.as === 'stock part' ? [] : [found('not given up', units)]),
  ];
}

function ofUses(carried: Carried, { part, stock, build, units }: OnStock): Found[] {
  const closed = moment(build.closedAt);
  return storyOf(carried)
    .uses.filter(
      (one: Json) => one.stockPart === stock.stockPart && one.part !== part.serial && moment(one.closedAt) <= closed,
    )
    .filter(
      (one: Json) =>
        !(stock.takenOff ?? []).some(
          ({ implant, at }: Json) => implant === one.part && moment(at) >= moment(one.closedAt) && moment(at) <= closed,
        ),
    )
    .map(() => found('built on twice', units, FAILS));
}

function ofMaterial(carried: Carried, { stock, units }: OnStock): Found[] {
  const receipt = stock.receipt && carried.pinned('receipt', stock.receipt).body;
  const asked = linesAsked(carried, { ...receipt, material: stock.material });
  const lines: Json[] = stock.lines ?? [];
  return [
    ...(receipt && receipt.material !== stock.material ? [found('receipt of another material', units)] : []),
    ...(asked.length === 0 ? [found('material without limits', units, D)] : []),
    ...lines.flatMap((line) =>
      asked.flatMap((limit) => {
        const how = limit.property === line.property ? standing(line as never, limit, 'stock part') : 'conforms';
        if (how === 'conforms') return [];
        return how === 'does not conform'
          ? [found('outside limits', units, { ...FAILS, ...C })]
          : [found('not decidable', units, C)];
      }),
    ),
  ];
}

/** When metal was taken off for the last time before it was built on. */
const freed = ({ stock, build }: OnStock): number =>
  Math.max(
    ...(stock.takenOff ?? []).map(({ at }: Json) => moment(at)).filter((at: number) => at <= moment(build.closedAt)),
  );

function ofFace(carried: Carried, of: OnStock): Found[] {
  const { stock, build, units } = of;
  const without = classOf(carried, of) === undefined ? [found('zone not built', units, D)] : [];
  const prepared: Json[] = stock.interface.prepared ?? [];
  if (prepared.length === 0) return [...without, found('face not made ready', units)];
  const last = prepared.filter(({ at }) => moment(at) <= moment(build.closedAt)).at(-1);
  if (last === undefined) return [...without, found('face made ready after the build', units)];
  if (moment(last.at) < freed(of)) return [...without, found('face made ready before metal was taken off', units)];
  const hours = carried.specification.body.builtOnStock?.faceHours;
  const lay = (moment(build.closedAt) - moment(last.at)) / 3_600_000;
  return hours !== undefined && lay > Number(hours) ? [...without, found('face lay too long', units, C)] : without;
}

function ofCoupons(carried: Carried, of: OnStock, item: Json): Found[] {
  const { part, stock, units } = of;
  const together = item.plan === 'every-unit' ? [part] : carried.implants.filter((one) => one.build === part.build);
  const coupons = unique(together.flatMap((one) => couponsFor(carried, one, item))).filter((one) =>
    carried.current.some((row) => row.specimen === one.coupon && row.characteristic === item.characteristic),
  );
  if (coupons.length === 0) return [found('no coupon tells of it', units, D)];
  return coupons.flatMap((coupon) => {
    const [own] = onStock(carried, [coupon]);
    if (own === undefined) return [found('coupon on no stock', units, D)];
    const isAlike =
      own.stock.material === stock.material && own.stock.interface.preparation === stock.interface.preparation;
    return isAlike ? [] : [found('coupon on other stock', units, D)];
  });
}

function ofInterface(carried: Carried, of: OnStock): Found[] {
  const told: Json[] = carried.specification.body.builtOnStock?.interface ?? [];
  return ['bond', 'hardness', 'porosity'].flatMap((property) => {
    const own = told.filter(({ tells }) => tells === property);
    if (own.length === 0) return [found('nothing tells of it', of.units, D)];
    return own.flatMap(({ characteristic }) => {
      const item = carried.specification.body.characteristics.find(
        (one: Json) => one.characteristic === characteristic,
      );
      if (item === undefined) return [];
      if (item.zoneClass !== undefined && item.zoneClass !== classOf(carried, of)) {
        return [found('of another zone', of.units, D)];
      }
      return item.measuredOn === 'implant' ? [] : ofCoupons(carried, of, item);
    });
  });
}

/** z(0.95) of the standard normal distribution. */
const Z = 1.6448536269514722;

function ofChange(carried: Carried, serial: string, change: Json): Found[] {
  const units = [serial];
  if (change === undefined) return [found('change not measured', units)];
  if (change.change === undefined) return [found('nothing compared', units, D)];
  const { shape, builtOnStock } = carried.specification.body;
  const isBare = Math.round(1000 * change.comparedShare) / 10 < Number(shape?.leastScannedPercent ?? 50);
  const isLost = change.lostShare > 0 && carried.specification.body.builtOnStock?.mostChangeMm !== undefined;
  const barely = [
    ...(isBare ? [found('barely compared', units, D)] : []),
    ...(isLost ? [found('stock not found again', units, D)] : []),
  ];
  const most = builtOnStock?.mostChangeMm;
  if (most === undefined) return barely;
  const largest = Math.abs(change.change.worst.changeMm);
  const changed = found('stock changed', units, { ...FAILS, ...C });
  if (change.uncertaintyMm === undefined) {
    return [...barely, largest > Number(most) ? changed : found('uncertainty not stated', units, D)];
  }
  const band = Z * change.uncertaintyMm;
  if (largest > Number(most) + band) return [...barely, changed];
  return largest > Number(most) - band ? [...barely, found('not known to be as before', units, D)] : barely;
}

/** The earliest closing and the latest opening of the chamber on an implant. */
function builtBetween(carried: Carried, implant: Json): [number, number] {
  const codes: string[] = [implant.build, ...(implant.alsoIn ?? []).map(({ build }: Json) => build)];
  const own: Json[] = [];
  while (codes.length > 0) {
    const build = carried.builds.find((one) => one.build === codes[0]);
    codes.shift();
    if (build === undefined || own.includes(build)) continue;
    own.push(build);
    if (build.continues) codes.push(build.continues.build);
  }
  const made = own.filter(({ state }) => state !== 'planned');
  return [
    Math.min(...made.map(({ closedAt }) => moment(closedAt))),
    Math.max(...made.map(({ openedAt }) => moment(openedAt))),
  ];
}

function kept(carried: Carried): { readonly found: Found[]; readonly applies: boolean } {
  const isGiven = ({ case: code }: Json) => carried.cases.some((file) => file.case === code);
  const scans: Json[] = carried.lot.scans ?? [];
  const changes = carried.implants.filter(isGiven).flatMap((implant) => {
    if (implant.builtOn === undefined) return [];
    const own = scans.filter(({ specimen }) => specimen === implant.serial);
    const file = carried.cases.find((one) => one.case === implant.case);
    return own.flatMap((scan) => {
      const before = own.find((one) => scan.against.what === 'scan' && one.scan === scan.against.scan);
      if (before?.against.what !== 'stock part') return [];
      const [closed, opened] = builtBetween(carried, implant);
      if (moment(before.at) > closed || moment(scan.at) < opened) return [];
      const key = `${implant.serial}:${scan.scan}`;
      const change = file.pinned.find((one: Json) => one.kind === 'shape-change' && one.key === key)?.body;
      const isOfNow =
        change?.stockPart === implant.builtOn &&
        change?.iteration === implant.designIteration &&
        change.before.scan === before.scan;
      return [{ serial: implant.serial, change: isOfNow ? change : undefined }];
    });
  });
  const isAsked = carried.specification.body.builtOnStock?.mostChangeMm !== undefined;
  const isGone = (serial: string) =>
    [...(carried.lot.fates ?? []), ...(carried.lot.moved ?? [])].some(({ part }: Json) => part === serial);
  const without = onStock(carried, carried.implants.filter(isGiven)).filter(
    ({ part }) => isAsked && !isGone(part.serial) && !changes.some(({ serial }) => serial === part.serial),
  );
  return {
    applies: changes.length + without.length > 0,
    found: [
      ...without.map(({ units }) => found('not scanned before and after', units, D)),
      ...changes.flatMap(({ serial, change }) => ofChange(carried, serial, change)),
    ],
  };
}

export const CHECKS_OF_STOCK: Readonly<Record<string, Asked>> = {
  'stock-part-accepted': (carried) => {
    const all = onStock(carried, carried.implants);
    return {
      applies: all.length > 0,
      found: all.flatMap((of) => {
        const { stock, build, units } = of;
        const approval = approvalOf(carried, stockDigest(stock), stock.acceptance);
        const late = { before: build.closedAt, rule: 'accepted after the build', units };
        return [
          ...(isApproved(approval) ? unapproved(approval, late, {}, { ...BLOCKS, ...D }) : unapproved(approval, late)),
          ...(isApproved(approval) && moment(approval.at) <= moment(build.closedAt) && moment(approval.at) < freed(of)
            ? [found('accepted before metal was taken off', units)]
            : []),
          ...ofOrigin(carried, of),
          ...ofMaterial(carried, of),
          ...ofUses(carried, of),
          ...ofFace(carried, of),
        ];
      }),
    };
  },
  'interface-tested': (carried) => {
    const all = onStock(carried, carried.implants);
    return { applies: all.length > 0, found: all.flatMap((of) => ofInterface(carried, of)) };
  },
  'stock-kept': kept,
};
