import { hoursOf } from '../degradation/exposure-rates.js';
import type { ApartValue } from '../dossier/beside-values.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { ExposedAs } from '../dossier/exposed.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import type { HistoryContext } from '../dossier/pool.js';
import { readReported } from '../dossier/reported-value.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import type { Build, Coupon, Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { type LeftOut, leftOutResults } from './acceptance-set.js';
import { exposedRows } from './exposures.js';
import { ReworkHistory } from './reworks.js';
import { currentResults, type NumberedResult } from './specimens.js';

/** Values of one characteristic from one build that were made and measured alike, in the order of measurement. */
export interface OwnValues {
  readonly item: Characteristic;
  readonly build: Build;
  readonly context: HistoryContext;
  readonly values: readonly NumberedResult[];
  /** Reported as below or above a bound. */
  readonly bounds: readonly NumberedResult[];
  readonly takenOut: readonly { readonly result: NumberedResult; readonly cause: string; readonly decidedBy: string }[];
  /** Measured again, on a specimen in place of another, or after a rework: no first-pass values. */
  readonly again: readonly { readonly result: NumberedResult; readonly why: Again }[];
}

type Again = Exclude<ApartValue['why'], 'bound'>;

type Collected = { -readonly [K in keyof OwnValues]: OwnValues[K] extends readonly (infer T)[] ? T[] : OwnValues[K] };

/**
 * What a lot adds to the history of its family: current first-pass values by build and context, as the process gave them
 * (docs/trade.md 4.8). Repeats, replacements and what a rework made are apart, and so is what a signed decision took out:
 * a repeat or a replacement counts only in place of that.
 */
export function ownValues(facts: Facts): OwnValues[] {
  const { body: lot } = facts.lot;
  const items = new Map(facts.specification.body.characteristics.map((item) => [item.characteristic, item]));
  const builds = new Map(lot.builds.map((build) => [build.build, build]));
  const parts = new Map<string, Implant | Coupon>([
    ...lot.implants.map((part): [string, Implant] => [part.serial, part]),
    ...lot.coupons.map((part): [string, Coupon] => [part.coupon, part]),
  ]);
  const leftOut = leftOutResults(facts);
  const firstPass = new FirstPass(facts, leftOut);
  const exposed = new Map(exposedRows(facts).map(({ row, exposure }) => [row.row, exposure]));
  const found = new Map<string, Collected>();
  for (const result of currentResults(facts)) {
    const item = items.get(result.characteristic);
    const part = parts.get(result.specimen);
    const build = part && builds.get(part.build);
    if (!item || !part || !build) continue;
    const { recipe, revision } = part.recipe;
    const exposure = exposed.get(result.row);
    const context: HistoryContext = {
      machine: build.machine,
      recipe,
      recipeRevision: revision,
      recipeGroup: facts.recipes.get(revisionKey(recipe, revision))?.body.group ?? '',
      method: result.method,
      methodRevision: Number(result.methodRevision),
      ucum: result.ucum,
      zoneClass: exposure?.zoneClass ?? item.zoneClass ?? '',
      ...(exposure === undefined ? {} : { exposed: exposedAs(exposure) }),
    };
    const key = `${item.characteristic}\n${build.build}\n${canonicalJson(context)}`;
    const own = found.get(key) ?? { item, build, context, values: [], bounds: [], takenOut: [], again: [] };
    found.set(key, own);
    const reason = leftOut.get(result.row);
    const again = firstPass.againBecause(result, item, part);
    if (reason?.code === 'invalid test') own.takenOut.push({ result, ...reason.facts });
    else if (again) own.again.push({ result, why: again });
    else if (readReported(result.value).qualifier === '') own.values.push(result);
    else own.bounds.push(result);
  }
  for (const { values } of found.values()) values.sort(asMeasured);
  return [...found.values()];
}

/** In the order of measurement, whichever sheet came in first: a correction stays at the place of what it corrects. */
function asMeasured(a: NumberedResult, b: NumberedResult): number {
  const nameOf = ({ specimen, piece, replicate }: NumberedResult) =>
    [specimen, piece, replicate.padStart(6, '0')].join('\n');
  return Date.parse(a.measuredAt) - Date.parse(b.measuredAt) || (nameOf(a) < nameOf(b) ? -1 : 1);
}

const exposedAs = (exposure: Exposure): ExposedAs => ({
  medium: exposure.medium.medium,
  mediumRevision: exposure.medium.revision,
  hours: Math.round(hoursOf(exposure) ?? 0),
  face: exposure.face,
  ...(exposure.sterilisedIn === undefined ? {} : { sterilised: true }),
  ...(exposure.flowMlPerMin === undefined ? {} : { flowMlPerMin: exposure.flowMlPerMin }),
  ...(exposure.gas === undefined ? {} : { gas: exposure.gas }),
  temperatureC: Math.round(10 * Number(exposure.temperatureC)) / 10,
});

/** Tells first-pass values from what was measured again. */
class FirstPass {
  private readonly counted = new Map<string, number>();
  private readonly reworks: ReworkHistory;
  private readonly results: readonly NumberedResult[];

  constructor(
    private readonly facts: Facts,
    private readonly leftOut: LeftOut,
  ) {
    this.reworks = new ReworkHistory(facts);
    this.results = currentResults(facts);
  }

  /** To be asked of the results in their order; undefined for one that counts. */
  againBecause(result: NumberedResult, item: Characteristic, part: Implant | Coupon): Again | undefined {
    const { specimen, characteristic, measuredAt } = result;
    if (this.reworks.of(specimen, characteristic, measuredAt).length > 0) return 'reworked';
    if (this.leftOut.has(result.row)) return undefined;
    if ('use' in part && part.use === 'spare') {
      return this.standsForInvalid(specimen, characteristic) ? undefined : 'replacement';
    }
    const name = `${specimen} ${characteristic}`;
    const before = this.counted.get(name) ?? 0;
    this.counted.set(name, before + 1);
    return before >= item.replicates ? 'repeat' : undefined;
  }

  /** What it was tested in place of gave no value that counts. */
  private standsForInvalid(spare: string, characteristic: string): boolean {
    const replaced = (this.facts.lot.body.replacements ?? []).find(
      (one) => one.by === spare && one.characteristic === characteristic,
    );
    return (
      replaced !== undefined &&
      this.results
        .filter((one) => one.specimen === replaced.replaces && one.characteristic === characteristic)
        .every((one) => this.leftOut.has(one.row))
    );
  }
}
