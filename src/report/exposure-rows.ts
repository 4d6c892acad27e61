import { hoursOf, ratesOf } from '../degradation/exposure-rates.js';
import type { Facts } from '../dossier/facts.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import { EXPOSURES } from './phrases/record-degradation.js';

export interface ExposureTable {
  /** Each once, by letter. */
  readonly conditions: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

/** Exposures of a lot: under which conditions, what was lost, and how well that is known. */
export function exposureTable({ exposures, simulation }: Facts): ExposureTable {
  const bodies = [...exposures.values()].map(({ body }) => body);
  const conditions = [...new Set(bodies.map(conditionsOf))];
  return {
    conditions: conditions.map((text, index) => EXPOSURES.under(letterOf(index), text)),
    rows: bodies.map((body) => cellsOf(body, letterOf(conditions.indexOf(conditionsOf(body))), simulation)),
  };
}

/** a to z, then by number. */
const letterOf = (index: number): string => (index < 26 ? String.fromCharCode(97 + index) : String(index + 1));

function conditionsOf(exposure: Exposure): string {
  const { face, zoneClass, medium, batch, temperatureC, volumeMl, areaCm2, flowMlPerMin, changeH, gas, mask } =
    exposure;
  const { sterilisedIn, control, protocol } = exposure;
  return [
    EXPOSURES.face(face, zoneClass),
    EXPOSURES.medium(medium.medium, medium.revision, batch),
    EXPOSURES.protocol(protocol.method, protocol.revision),
    `${temperatureC} °C`,
    EXPOSURES.share(short(Number(volumeMl) / Number(areaCm2))),
    changeH === undefined ? EXPOSURES.notChanged : EXPOSURES.changed(changeH),
    flowMlPerMin === undefined ? EXPOSURES.atRest : EXPOSURES.flow(flowMlPerMin),
    ...(gas === undefined ? [] : [EXPOSURES.gas(gas)]),
    ...(mask === undefined ? [] : [EXPOSURES.mask(mask)]),
    sterilisedIn === undefined ? EXPOSURES.notSterilised : EXPOSURES.sterilised(sterilisedIn),
    control === undefined
      ? EXPOSURES.noControl
      : EXPOSURES.control(control.material, control.value, control.min, control.max, tradeUnit(control.ucum)),
  ].join(', ');
}

function cellsOf(exposure: Exposure, under: string, simulation: Facts['simulation']): string[] {
  const { specimen, piece, pH } = exposure;
  const hours = hoursOf(exposure);
  return [
    piece === undefined ? specimen : `${specimen}, ${piece}`,
    under,
    [pH.start, pH.most, pH.end].map((value) => value ?? EXPOSURES.none).join(' / '),
    hours === undefined ? EXPOSURES.lasts : short(hours / 168),
    ...toldRates(exposure, simulation),
  ];
}

/** The rate that counts first; a current never counts alone. */
function toldRates(exposure: Exposure, simulation: Facts['simulation']): string[] {
  const rates = ratesOf(exposure, simulation);
  const [first] = rates;
  if (first === undefined) return [EXPOSURES.none, EXPOSURES.none];
  const depth = first.depthUm === undefined ? EXPOSURES.none : known(first.depthUm, first.depthUncertaintyUm);
  const told = rates.map(({ by, mmPerYear, standardUncertaintyMmPerYear, budget = [], isSimulated }) => {
    const most = [...budget].sort((a, b) => (b.share ?? 0) - (a.share ?? 0))[0];
    const part = most?.share === undefined ? undefined : EXPOSURES.part(most.quantity, Math.round(100 * most.share));
    return EXPOSURES.rate(known(mmPerYear, standardUncertaintyMmPerYear), by, part, isSimulated);
  });
  return [depth, told.join('; ')];
}

const short = (value: number): string => String(Number(value.toPrecision(3)));

/** A value with as many decimals as the two leading digits of its uncertainty have. */
function known(value: number, uncertainty: number | undefined): string {
  if (uncertainty === undefined || uncertainty === 0) return short(value);
  if (!Number.isFinite(uncertainty)) return EXPOSURES.unbounded(short(value));
  const decimals = Math.max(0, Math.min(9, 1 - Math.floor(Math.log10(uncertainty))));
  return EXPOSURES.plusMinus(value.toFixed(decimals), uncertainty.toFixed(decimals));
}
