import { type Carried, converted, type Json, type Row } from './carried.js';

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
  return {
    applies: scans.length + rows.length > 0,
    found: [
      ...scans.flatMap((scan) => ofScan(carried, scan, items)),
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

function scansOf(carried: Carried, implant: Json): Scan[] {
  const finals: Json[] = (carried.lot.scans ?? []).filter(
    (one: Json) => one.specimen === implant.serial && one.when === 'final' && one.against.what === 'design',
  );
  const { pinned } = carried.cases.find((file) => file.case === implant.case);
  return finals.map((scan, index) => {
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

function scannerFaults(carried: Carried, { serial }: Json, scan: Json, items: readonly Json[]): Found[] {
  const body = items.length === 0 ? carried.pinned('instrument', scan.instrument)?.body : undefined;
  const fault = body && calibrationFault(body, scan.at);
  return fault ? [found(fault.rule, [serial], fault.more)] : [];
}

function ofScan(carried: Carried, { implant, scan, shape, judged }: Scan, items: readonly Json[]): Found[] {
  const units = [implant.serial];
  if (shape === undefined) return [found('scan not measured', units)];
  const zones: Json[] = shape.zones.filter(({ outsideMm }: Json) => outsideMm !== undefined);
  return [
    ...shape.mesh.findings.map(() => found('model not sound', units, D)),
    ...(judged.unreached > 0 ? [found('points without surface', units, D)] : []),
    ...scannerFaults(carried, implant, scan, items),
    ...(shape.judged === 'least squares' && judged !== shape.leastSquares ? [found('datums not scanned', units)] : []),
    ...zones.flatMap(({ zone }): Found[] => {
      const own = judged.zones.find((one: Json) => one.zone === zone);
      if (own === undefined) return [found('zone not scanned', units, D)];
      if (items.some((item) => speaksOf(carried, implant, item, zone))) return [];
      if ((own.outsideWide ?? own.outside) > 0) return [found('outside its profile', units, FAILS)];
      return (own.outsideNarrow ?? 0) > 0 ? [found('not known to lie in its profile', units, D)] : [];
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
  const isLength = /m$/.test(item.ucum);
  const value = isLength
    ? Math.max(...zones.map(({ worst }) => Math.abs(worst.deviationMm)))
    : (100 * sum((one) => one.outside)) / points;
  const stated = scan!.shape.points.uncertaintyMm;
  const uncertainty = stated === undefined ? undefined : isLength ? stated : spread;
  const [from, six] = [isLength ? 'mm' : '%', (number: number) => Number(number.toFixed(6))];
  const isSame = (text: string, number: number) =>
    Number(converted(text, row.ucum!, from)).toFixed(9) === number.toFixed(9);
  const isAsMeasured =
    isSame(row.value!, six(value)) &&
    (uncertainty === undefined
      ? row.standardUncertainty === ''
      : row.standardUncertainty !== '' && isSame(row.standardUncertainty!, isLength ? uncertainty : six(uncertainty)));
  return isAsMeasured ? [] : [found('value not as measured', units, BLOCKS)];
}
