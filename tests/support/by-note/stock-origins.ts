import type { Carried, Json } from './carried.js';
import { chainOf } from './closures.js';

/** Parts that were built on stock, by the paragraphs of the checks on it. */
export interface OnStock {
  readonly part: Json;
  readonly units: readonly string[];
  readonly build: Json;
  readonly stock: Json;
}

export const onStock = (carried: Carried, parts: readonly Json[]): OnStock[] =>
  parts.flatMap((part) => {
    const [build] = chainOf(carried, part.build)
      .reverse()
      .filter(({ state }) => state !== 'planned');
    const stock = part.builtOn && carried.pinned('stock-part', part.builtOn)?.body;
    return stock && build ? [{ part, units: [part.serial], build, stock }] : [];
  });

export const storyOf = (carried: Carried): Json => carried.json('stock-parts.json') ?? { origins: [], uses: [] };

/** What a stock part was, what that was built on was, and so on, each once. */
export function originsUnder(carried: Carried, { stock }: OnStock): Json[] {
  const all: Json[] = storyOf(carried).origins;
  const chain: Json[] = [];
  for (let code = stock.stockPart; code !== undefined; ) {
    const next = all.find((one) => one.stockPart === code && !chain.includes(one));
    if (next !== undefined) chain.push(next);
    code = next?.builtOn?.stockPart;
  }
  return chain;
}
