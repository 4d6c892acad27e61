import type { Build } from '../kinds/lot.js';

/** A gas while its bottle or tank was open to a chamber. */
export interface GasUse {
  readonly receipt: string;
  readonly bottle: string | undefined;
  /** Moments with their offset, as written in the lot file. */
  readonly from: string;
  readonly to: string;
  /** Whether it came in place of another one while the chamber was closed. */
  readonly isChange: boolean;
}

/** Gas of a closure in order of time: each is open until the next that was changed to, or until the chamber was opened. */
export function gasUses({ gas, closedAt, openedAt }: Pick<Build, 'gas' | 'closedAt' | 'openedAt'>): GasUse[] {
  const changes = gas.flatMap(({ from }) => from ?? []).sort((a, b) => Date.parse(a) - Date.parse(b));
  return gas
    .map(({ receipt, bottle, from }) => {
      const next = changes.find((at) => Date.parse(at) > Date.parse(from ?? closedAt));
      return { receipt, bottle, from: from ?? closedAt, to: next ?? openedAt, isChange: from !== undefined };
    })
    .sort((a, b) => Date.parse(a.from) - Date.parse(b.from));
}
