import { type Carried, converted, type Json, moment, type Row } from './carried.js';

import { BLOCKS, calibrationFault, D, FAILS, type Found, found } from './words.js';

/** Scanned shapes, as the paragraph of shape-within-profile says. */
interface Scan {
  readonly implant: Json;
  readonly scan: Json;
  readonly replicate: string;
  readonly shape: Json;
  /** What it shows, and what of it is judged. */
  readonly shown: Json;
  readonly judged: Json;
}

export function shapesWithin(carried: Carried): { readonly found: Found[]; readonly applies: boolean } {
  const items: Json[] = carried.specification.body.characteristics.filter(
    ({ source, measuredOn }: Json) => source === 'shape' && measuredOn === 'implant',
  );
  const given = carried.implants.filter((one) => carried.cases.some((file) => file.case === one.case));
  const scans = given.flatMap((implant) => scansOf(carried, implant));
  const rows = carried.current.filter(
    (row) =>
      items.some(({ characteristic }) => characteristic === row.characteristic) &&
      given.some(({ serial }) => serial === row.specimen),
  );
  const without = given.filter((implant) => isUnscanned(carried, implant));
  return {
    applies: scans.length + rows.length + without.length > 0,
    found: [
      ...without.map(({ serial }) => found('implant not scanned', [serial], D)),
      ...scans.flatMap((scan) => ofScan(carried, scan, scans, items)),
      ...rows.flatMap((row) => {
        const scan = scans.find((one) => one.implant.serial === row.specimen && one.replicate === row.replicate);
        return ofRow(
          carried,
          row,
          scan,
          items.find(({ characteristic }) => characteristic === row.characteristic),
        );
      }),
    ],
  };
}

const finalsOf = (carried: Carried, implant: Json): Json[] =>
  (carried.lot.scans ?? []).filter(
    (one: Json) => one.specimen === implant.serial && one.when === 'final' && one.against.what === 'design',
  );

function isUnscanned(carried: Carried, implant: Json): boolean {
  const { pinned } = carried.cases.find((file) => file.case === implant.case);
  const design = pinned.find((one: Json) => one.kind === 'case-design' && one.revision === implant.designIteration);
  const isAsked = design?.body.zones.some((zone: Json) => zone.profileMm !== undefined) ?? false;
  const isGone = (carried.lot.fates ?? []).some(({ part }: Json) => part === implant.serial);
  return isAsked && !isGone && finalsOf(carried, implant).length === 0;
}

function scansOf(carried: Carried, implant: Json): Scan[] {
  const { pinned } = carried.cases.find((file) => file.case === implant.case);
  return finalsOf(carried, implant).map((scan, index) => {
    const key = `${implant.serial}:${scan.scan}`;
    const told = pinned.find((one: Json) => one.kind === 'shape-deviation' && one.key === key)?.body;
    const mesh = implant.builtOn && carried.pinned('stock-part', implant.builtOn)?.body.mesh;
    const isOn = mesh ? told?.stock?.stockPart === implant.builtOn : told?.stock === undefined;
    const shape = isOn && told?.iteration === implant.designIteration ? told : undefined;
    const isFit = shape?.judged === 'least squares' && shape.leastSquares !== undefined;
    const shown = isFit ? shape.leastSquares : shape?.asGiven;
    const seen = [...(shown?.zones ?? []), ...(shown?.stock ?? [])].map(({ zone }: Json) => zone);
    const isHeld = shape?.zones.every(({ zone, isDatum }: Json) => !isDatum || seen.includes(zone));
    const isUnlaid = shape?.judged === 'least squares' && !isFit;
    return {
      implant,
      scan,
      replicate: String(index + 1),
      shape,
      shown,
      judged: isHeld && !isUnlaid ? shown : undefined,
    };
  });
}

function classOf(carried: Carried, implant: Json, name: string): string | undefined {
  const zone =
    implant.zones.find((one: Json) => one.zone === name) ?? implant.zones.find((one: Json) => one.recipeZone === name);
  const recipe = carried.pinned('recipe', implant.recipe.recipe, implant.recipe.revision);
  return recipe.body.zones.find((one: Json) => one.zone === zone?.recipeZone)?.class;
}

const speaksOf = (carried: Carried, implant: Json, item: Json, name: string): boolean =>
  item.zoneClass === undefined || classOf(carried, implant, name) === item.zoneClass;

const percent = (share: number): number => Math.round(1000 * share) / 10;

/** In percent. */
function least(carried: Carried, implant: Json, zone: string, surface: string): number {
  const { shape } = carried.specification.body;
  const own = surface === 'stock' ? undefined : classOf(carried, implant, zone);
  const unseen = (shape?.unseen ?? []).find(({ zoneClass }: Json) => zoneClass === own);
  return Number(unseen?.leastScannedPercent ?? shape?.leastScannedPercent ?? 50);
}

function scannerFaults(
  carried: Carried,
  { implant: { serial }, scan, replicate }: Scan,
  items: readonly Json[],
): Found[] {
  const hasRow = carried.current.some(
    (row) =>
      row.specimen === serial &&
      row.replicate === replicate &&
      items.some(({ characteristic }) => characteristic === row.characteristic),
  );
  const body = !hasRow ? carried.pinned('instrument', scan.instrument)?.body : undefined;
  const fault = body && calibrationFault(body, scan.at);
  return fault ? [found(fault.rule, [serial], fault.more)] : [];
}

const isLength = ({ ucum }: Json): boolean => /m$/.test(ucum);

function ofScan(carried: Carried, one: Scan, all: readonly Scan[], items: readonly Json[]): Found[] {
  const { implant, scan, shape, shown, judged } = one;
  const units = [implant.serial];
  if (shape === undefined) return [found('scan not measured', units)];
  const later = all.filter(
    (other) => other.implant === implant && moment(other.scan.at) > moment(scan.at) && other.judged !== undefined,
  );
  const asked: [Json, string][] =
    judged === undefined
      ? []
      : shape.zones
          .filter(({ outsideMm }: Json) => outsideMm !== undefined)
          .flatMap((zone: Json) => [
            ...(zone.stock === 'all' ? [] : [[zone, 'zones']]),
            ...(zone.stock === undefined ? [] : [[zone, 'stock']]),
          ]);
  return [
    ...shape.mesh.findings.map(() => found('model not sound', units, D)),
    ...(shown.unreached > 0 ? [found('points without surface', units, D)] : []),
    ...scannerFaults(carried, one, items),
    ...(judged === undefined && later.length === 0 ? [found('datums not scanned', units)] : []),
    ...asked.flatMap(([{ zone }, surface]): Found[] => {
      const named = (of: Json) => (of[surface] ?? []).find((seen: Json) => seen.zone === zone);
      const own = named(judged);
      const enough = least(carried, implant, zone, surface);
      const isLater = later.some((other) => percent(named(other.judged)?.scannedShare ?? -1) >= enough);
      if (own === undefined) return isLater ? [] : [found('zone not scanned', units, D)];
      const barely = percent(own.scannedShare) < enough && !isLater ? [found('zone barely scanned', units, D)] : [];
      const isSaid = items.some((item) => !isLength(item) && speaksOf(carried, implant, item, zone));
      if (surface === 'zones' && isSaid) return barely;
      if ((own.outsideSurely ?? own.outside) > 0) return [...barely, found('outside its profile', units, FAILS)];
      if (own.outsidePerhaps === undefined) return [...barely, found('uncertainty not stated', units, D)];
      return own.outsidePerhaps > 0 ? [...barely, found('not known to lie in its profile', units, D)] : barely;
    }),
  ];
}

function ofRow(carried: Carried, row: Row, scan: Scan | undefined, item: Json): Found[] {
  const units = [row.specimen!];
  const zones: Json[] = (scan?.judged?.zones ?? []).filter(
    (one: Json) => one.outside !== undefined && speaksOf(carried, scan!.implant, item, one.zone),
  );
  if (zones.length === 0) return [found('no scan', units, BLOCKS)];
  const sum = (of: (zone: Json) => number) => zones.reduce((total, zone) => total + of(zone), 0);
  const points = sum((one) => one.points);
  const spread = (50 * sum((one) => one.outsideNarrow - one.outsideWide)) / points;
  const isInMm = isLength(item);
  const value = isInMm
    ? Math.max(...zones.map(({ farthestMm }) => farthestMm))
    : (100 * sum((one) => one.outside)) / points;
  const stated = scan!.shape.points.uncertaintyMm;
  const uncertainty = stated === undefined ? undefined : isInMm ? stated : spread;
  const [from, six] = [isInMm ? 'mm' : '%', (number: number) => Number(number.toFixed(6))];
  const isSame = (text: string, number: number) =>
    Number(converted(text, row.ucum!, from)).toFixed(9) === number.toFixed(9);
  const isAsMeasured =
    isSame(row.value!, six(value)) &&
    (uncertainty === undefined
      ? row.standardUncertainty === ''
      : row.standardUncertainty !== '' && isSame(row.standardUncertainty!, isInMm ? uncertainty : six(uncertainty)));
  return isAsMeasured ? [] : [found('value not as measured', units, BLOCKS)];
}
