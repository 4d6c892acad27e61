import { type Carried, converted, type Json, moment, type Row } from './carried.js';

import { BLOCKS, calibrationFault, D, FAILS, type Found, found } from './words.js';

/** Scanned shapes, as the paragraph of shape-within-profile says. */
interface Scan {
  readonly implant: Json;
  readonly scan: Json;
  readonly replicate: string;
  readonly shape: Json;
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
    const shape = pinned.find((one: Json) => one.kind === 'shape-deviation' && one.key === key)?.body;
    const isFit = shape?.judged === 'least squares' && shape.leastSquares !== undefined;
    return { implant, scan, replicate: String(index + 1), shape, judged: isFit ? shape.leastSquares : shape?.asGiven };
  });
}

function speaksOf(carried: Carried, implant: Json, item: Json, name: string): boolean {
  if (item.zoneClass === undefined) return true;
  const zone =
    implant.zones.find((one: Json) => one.zone === name) ?? implant.zones.find((one: Json) => one.recipeZone === name);
  const recipe = carried.pinned('recipe', implant.recipe.recipe, implant.recipe.revision);
  return recipe.body.zones.find((one: Json) => one.zone === zone?.recipeZone)?.class === item.zoneClass;
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
const isLaid = ({ shape, judged }: Scan): boolean => shape.judged !== 'least squares' || judged === shape.leastSquares;

function ofScan(carried: Carried, one: Scan, all: readonly Scan[], items: readonly Json[]): Found[] {
  const { implant, scan, shape, judged } = one;
  const units = [implant.serial];
  if (shape === undefined) return [found('scan not measured', units)];
  const zones: Json[] = shape.zones.filter(({ outsideMm }: Json) => outsideMm !== undefined);
  const later = all.filter(
    (other) =>
      other.implant === implant &&
      moment(other.scan.at) > moment(scan.at) &&
      other.shape !== undefined &&
      isLaid(other),
  );
  return [
    ...shape.mesh.findings.map(() => found('model not sound', units, D)),
    ...(judged.unreached > 0 ? [found('points without surface', units, D)] : []),
    ...scannerFaults(carried, one, items),
    ...(!isLaid(one) && later.length === 0 ? [found('datums not scanned', units)] : []),
    ...zones.flatMap(({ zone }): Found[] => {
      const own = judged.zones.find((one: Json) => one.zone === zone);
      const isLater = later.some((other) =>
        other.judged.zones.some((seen: Json) => seen.zone === zone && (seen.scannedShare ?? 1) >= 0.5),
      );
      if (own === undefined) return isLater ? [] : [found('zone not scanned', units, D)];
      const barely = own.scannedShare < 0.5 && !isLater ? [found('zone barely scanned', units, D)] : [];
      if (items.some((item) => !isLength(item) && speaksOf(carried, implant, item, zone))) return barely;
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
