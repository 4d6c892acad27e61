import { type Carried, converted, digits, type Json, moment, type Row, unique } from './carried.js';
import type { Asked } from './checks.js';
import { methodOf } from './checks-of-papers.js';
import { implantsOf } from './closures.js';
import { BLOCKS, D, type Found, found } from './words.js';

export const hours = ({ from, to }: Json): number => (moment(to) - moment(from)) / 3_600_000;
export const isOff = ({ control }: Json): boolean =>
  control !== undefined && (Number(control.value) < Number(control.min) || Number(control.value) > Number(control.max));

/** The vapour that saturates the gas, in kPa, by the equation of IAPWS SR1-86. */
export function water({ gasC, water: state }: Json): number {
  if (state !== 'wet') return 0;
  const kelvin = Number(gasC) + 273.15;
  const t = 1 - kelvin / 647.096;
  const sum =
    -7.85951783 * t +
    1.84408259 * t ** 1.5 -
    11.7866497 * t ** 3 +
    22.6807411 * t ** 3.5 -
    15.9618719 * t ** 4 +
    1.80122502 * t ** 7.5;
  return 22064 * Math.exp((647.096 / kelvin) * sum);
}

/** Rate in mm/a, as the paragraph says; undefined where the exposure tells none. */
export function rateOf(exposure: Json): number | undefined {
  const { to, massG, volumeMm3, hydrogen, areaCm2, densityGPerCm3 } = exposure;
  if (to === undefined) return undefined;
  const byMass = (grams: number) => (87600 * grams) / (Number(areaCm2) * hours(exposure) * Number(densityGPerCm3));
  if (massG?.afterCleaning !== undefined) {
    return byMass(digits(Number(massG.before) - Number(massG.afterCleaning) - Number(massG.blankLoss ?? 0), 12));
  }
  if (volumeMm3 !== undefined) {
    const lostMm = (Number(volumeMm3.before) - Number(volumeMm3.after)) / (100 * Number(areaCm2));
    return (lostMm * 8760) / hours(exposure);
  }
  if (hydrogen === undefined) return undefined;
  const { kPa, volumeMl, blankMl = 0, gPerMol, gasC } = hydrogen;
  const gas = (Number(kPa) - water(hydrogen)) * (Number(volumeMl) - Number(blankMl));
  return byMass((Number(gPerMol) * gas) / (1000 * 8.31446261815324 * (Number(gasC) + 273.15)));
}

export const differences: readonly ((a: Json, b: Json) => boolean)[] = [
  (a, b) => a.medium.medium !== b.medium.medium || Number(a.medium.revision) !== Number(b.medium.revision),
  (a, b) => a.protocol.method !== b.protocol.method || Number(a.protocol.revision) !== Number(b.protocol.revision),
  (a, b) => a.face !== b.face,
  (a, b) => (a.sterilisedIn === undefined) !== (b.sterilisedIn === undefined),
  (a, b) => Number(a.flowMlPerMin ?? -1) !== Number(b.flowMlPerMin ?? -1),
  (a, b) => a.gas !== b.gas,
  (a, b) => Math.abs(Number(a.temperatureC) - Number(b.temperatureC)) > 2 + 1e-9,
  (a, b) => Math.abs(hours(a) - hours(b)) > 0.02 * Math.max(hours(a), hours(b)),
];

const end = ({ to }: Json): number => (to === undefined ? Number.POSITIVE_INFINITY : moment(to));
export const sharesBath = (one: Json, other: Json): boolean =>
  other.batch === one.batch && moment(one.from) < end(other) && moment(other.from) < end(one);

function controls(carried: Carried, exposures: readonly Json[]): Found[] {
  const last = new Map(
    exposures.filter(isOff).map((one) => [`${one.batch} ${one.control.value} ${one.control.material}`, one]),
  );
  return [...last.values()].map((one) => {
    const bath = exposures.filter((other) => sharesBath(one, other));
    return found('control outside its range', unique(bath.flatMap(({ specimen }) => implantsOf(carried, specimen))), D);
  });
}

export const CHECKS_OF_EXPOSURES: Readonly<Record<string, Asked>> = {
  'exposures-stand': (carried) => {
    const exposures = carried.allPinned('exposure').map(({ body }) => body);
    const items: Json[] = carried.specification.body.characteristics.filter(
      ({ source }: Json) => source === 'exposure',
    );
    const rows = carried.current.filter((row) =>
      items.some(({ characteristic }) => characteristic === row.characteristic),
    );
    const exposureOf = (row: Row) =>
      exposures.find(
        ({ specimen, piece = '', exposure }) =>
          specimen === row.specimen && piece === row.piece && exposure === row.replicate,
      );
    const pools = items.flatMap(({ characteristic }): Found[] => {
      const own = rows.filter((row) => row.characteristic === characteristic && exposureOf(row) !== undefined);
      const units = unique(own.flatMap(({ specimen }) => implantsOf(carried, specimen!)));
      return differences
        .filter((differ) => own.some((one) => own.some((row) => differ(exposureOf(one), exposureOf(row)))))
        .map(() => found('not to stand together', units));
    });
    const rates = rows.flatMap((row): Found[] => {
      const exposure = exposureOf(row);
      const rate = exposure && rateOf(exposure);
      const units = implantsOf(carried, row.specimen!);
      if (rate === undefined) return [found('no exposure', units, BLOCKS)];
      const is = Number(converted(row.value!, row.ucum!, 'mm/a'));
      return Math.abs(is - rate) > 5e-6 * rate ? [found('rate not as computed', units, BLOCKS)] : [];
    });
    const media = rows.flatMap((row): Found[] => {
      const exposure = exposureOf(row);
      const least = methodOf(carried, row)?.body.mediumMlPerCm2;
      const isLess = exposure && least && Number(exposure.volumeMl) / Number(exposure.areaCm2) < Number(least);
      return isLess ? [found('less medium than the method asks', implantsOf(carried, row.specimen!), D)] : [];
    });
    const untold = new Map<string, Set<string>>();
    for (const one of exposures) {
      const { method, revision } = one.protocol;
      const asked: string[] = carried.pinned('method', method, Number(revision))?.body.exposureTells ?? [];
      const at = (path: string) => path.split('.').reduce((inner: Json, name) => inner?.[name], one);
      const missing = asked.filter((path) => at(path) === undefined).join();
      if (one.to === undefined || missing === '') continue;
      const key = `${method} ${revision} ${missing}`;
      untold.set(key, (untold.get(key) ?? new Set<string>()).add(one.specimen));
    }
    const less = [...untold.values()].map((specimens) =>
      found('less told than the method asks', unique([...specimens].flatMap((one) => implantsOf(carried, one))), D),
    );
    const far = rows.flatMap((row): Found[] => {
      const history = carried.json('family-history.json');
      const known = history?.characteristics.find((one: Json) => one.characteristic === row.characteristic);
      const times = Number(row.value) / (known?.pool.mean ?? 0);
      const isFar = (known?.pool.mean ?? 0) > 0 && (times >= 300 || times <= 1 / 300);
      return isFar ? [found('far from the family', implantsOf(carried, row.specimen!), D)] : [];
    });
    return {
      found: [...controls(carried, exposures), ...pools, ...rates, ...media, ...less, ...far],
      applies: exposures.length + rows.length > 0,
    };
  },
};
