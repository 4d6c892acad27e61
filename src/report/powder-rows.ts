import { reuseCycles } from '../assessment/materials.js';
import { strictestOf } from '../assessment/powder-limits.js';
import { sharesOfStates } from '../assessment/powder-shares.js';
import { virginFractions } from '../assessment/virgin-powder.js';
import { sumDecimals } from '../base/decimal.js';
import type { Facts } from '../dossier/facts.js';
import { timeText } from '../dossier/time-text.js';
import { tradeUnit } from '../dossier/unit-text.js';
import { type PowderState, yieldOf } from '../kinds/powder-state.js';
import { POWDER_ROWS } from './phrases/powder-rows.js';
import { sharesText, virginText } from './phrases/powder-shares.js';
import { powderOperationText } from './phrases/trade-codes.js';

/** A powder state as tables tell it: what is computed of it beside what was recorded. */
export interface PowderRow {
  readonly state: string;
  readonly made: string;
  readonly contains: readonly string[];
  readonly cameOut: string;
  readonly receipts: string;
  readonly reuseCycle: string;
  readonly virgin: string;
  readonly measured: readonly string[];
}

export function powderRows(facts: Facts): PowderRow[] {
  const cycles = reuseCycles(facts);
  const virgin = virginFractions(facts);
  const shares = sharesOfStates(facts);
  return [...facts.powderStates.values()].map(({ body }) => {
    return {
      state: body.state,
      made: madeText(body),
      contains: body.inputs.map((input) =>
        POWDER_ROWS.input('receipt' in input ? input.receipt : input.state, input.massG),
      ),
      cameOut: POWDER_ROWS.cameOut(yieldOf(body), body.lossG),
      receipts: sharesText(shares.get(body.state) ?? []),
      reuseCycle: String(cycles.get(body.state) ?? ''),
      virgin: virginText(virgin.get(body.state)),
      measured: (body.tests ?? []).map((test) => POWDER_ROWS.measured({ ...test, unit: tradeUnit(test.ucum) })),
    };
  });
}

/** How, when and by whom it was made, with the balance, hopper, sieve and oven as far as they are stated. */
function madeText({ operation, madeAt, madeBy, hopper, sieve, drying, weighedWith }: PowderState): string {
  return [
    POWDER_ROWS.madeBy(powderOperationText(operation), timeText(madeAt), madeBy),
    ...(weighedWith === undefined ? [] : [POWDER_ROWS.weighedWith(weighedWith)]),
    ...(hopper === undefined ? [] : [POWDER_ROWS.hopper(hopper)]),
    ...(sieve === undefined ? [] : [POWDER_ROWS.sieve(sieve.meshUm)]),
    ...(drying === undefined ? [] : [POWDER_ROWS.drying(drying.temperatureC, drying.hours, drying.vacuum)]),
  ].join('; ');
}

/** What a closure took of a powder state, and where that went. */
export interface PowderBalanceRow {
  readonly build: string;
  readonly state: string;
  readonly charged: string;
  readonly deposited: string;
  readonly recovered: string;
  readonly waste: string;
  /** What is missing, with the most that may be. */
  readonly missing: string;
}

export function powderBalanceRows(facts: Facts): PowderBalanceRow[] {
  return facts.lot.body.builds.flatMap(({ build, powder }) =>
    powder.map(({ state, chargedG, depositedG, recoveredG, recoveredInto, wasteG }) => {
      const weighed = [depositedG, recoveredG, wasteG];
      const isWhole = weighed.every((mass) => mass !== undefined);
      const most = strictestOf(facts, state, 'balancePercent');
      const difference = isWhole ? sumDecimals([chargedG, ...weighed.map((mass) => `-${mass}`)]) : undefined;
      return {
        ...{ build, state, charged: POWDER_ROWS.grams(chargedG) },
        deposited: POWDER_ROWS.weighed(depositedG),
        recovered: POWDER_ROWS.recovered(recoveredG, recoveredInto),
        waste: POWDER_ROWS.weighed(wasteG),
        missing: POWDER_ROWS.missing(
          difference,
          difference === undefined ? undefined : (100 * Number(difference)) / Number(chargedG),
          most,
        ),
      };
    }),
  );
}
