import type { z } from 'zod';
import { type GasUse, gasUses } from '../assessment/gas-uses.js';
import { inUnit } from '../assessment/in-unit.js';
import { basisOf } from '../base/units.js';
import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import { timeText } from '../dossier/time-text.js';
import { spacedUnit, tradeUnit } from '../dossier/unit-text.js';
import type { Build } from '../kinds/lot.js';
import type { CertificateLine } from '../kinds/receipt.js';
import { frostPointC } from '../process-logs/dew-point.js';
import { planFromRecipe } from '../process-logs/plan-from-recipe.js';
import { GAS_ROWS } from './phrases/gas-rows.js';

/** What filled a chamber, and what its log shows while it did. */
export interface GasRow {
  readonly build: string;
  readonly gas: string;
  readonly open: string;
  readonly used: string;
  /** What the certificate of the gas states, with the dew point of its moisture. */
  readonly analysis: string;
  /** Least and most of each channel of the inert atmosphere in the meantime. */
  readonly chamber: string;
}

/** Each bottle or tank of gas of a lot, its analysis beside the log of the chamber. */
export const gasRows = (facts: Facts): GasRow[] =>
  facts.lot.body.builds.flatMap((build) =>
    gasUses(build).map((use) => {
      const receipt = facts.receipts.get(use.receipt)?.body;
      return {
        build: build.build,
        gas: GAS_ROWS.gas(use.receipt, receipt?.material, use.bottle),
        open:
          use.from === build.closedAt && use.to === build.openedAt
            ? GAS_ROWS.throughout
            : GAS_ROWS.open(timeText(use.from), timeText(use.to), use.isChange),
        used: usedText(build, use),
        analysis: (receipt?.certificate?.lines ?? []).map(analysisText).join('; ') || GAS_ROWS.noCertificate,
        chamber: chamberTexts(facts, build, use).join('; ') || GAS_ROWS.notLogged,
      };
    }),
  );

function usedText({ gas }: Build, use: GasUse): string {
  const quantity = gas.find(
    ({ receipt, bottle, from }) =>
      receipt === use.receipt && bottle === use.bottle && (from !== undefined) === use.isChange,
  )?.quantity;
  return quantity === undefined ? GAS_ROWS.notStated : `${quantity.value}${spacedUnit(quantity.ucum)}`;
}

const MOISTURE = new Set(['H2O', 'moisture', 'water']);

/** As it is certified; moisture by volume also as the dew point at one atmosphere. */
function analysisText({ property, value, ucum }: z.infer<typeof CertificateLine>): string {
  const stated = GAS_ROWS.certified(property, value, tradeUnit(ucum));
  if (!MOISTURE.has(property) || basisOf(ucum) === 'mass') return stated;
  const { number, qualifier } = readReported(value);
  const share = inUnit({ value: number, ucum }, '[ppm]');
  const dewPoint = share === undefined ? undefined : frostPointC(Number(share) / 1e6);
  return dewPoint === undefined ? stated : GAS_ROWS.withDewPoint(stated, qualifier, dewPoint.toFixed(0));
}

/** From the outlines of the log, whose stretches may reach a little over the change. */
function chamberTexts(facts: Facts, build: Build, { from, to }: GasUse): string[] {
  const recipes = new Map([...facts.recipes].map(([key, { body }]) => [key, body]));
  const inert = build.log === undefined ? [] : planFromRecipe(facts.lot.body, build, recipes).inert.channels;
  const [start, end] = [Date.parse(from), Date.parse(to)];
  return (facts.logParts.get(build.build)?.outlines ?? [])
    .filter(({ channel }) => inert.includes(channel))
    .flatMap(({ channel, ucum, startMs, bucketMs, min, max }) => {
      const own = (values: readonly (number | null)[]) =>
        values.flatMap((value, bucket) => {
          const at = startMs + bucket * bucketMs;
          return value === null || at + bucketMs <= start || at >= end ? [] : [value];
        });
      const [low, high] = [own(min), own(max)];
      if (low.length === 0) return [];
      const least = low.reduce((a, b) => Math.min(a, b));
      const most = high.reduce((a, b) => Math.max(a, b));
      return [GAS_ROWS.logged(channel, least, most, tradeUnit(ucum))];
    });
}
