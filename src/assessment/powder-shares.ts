import type { Facts } from '../dossier/facts.js';
import type { TieName } from '../kinds/ties.js';
import { inputsFirst } from './powder-order.js';

/** How much of a powder, or of what a build took, came from one receipt. */
export interface PowderShare {
  readonly receipt: string;
  /** Mass fraction, above 0 and at most 1. */
  readonly fraction: number;
}

/** What goes back to what, as a trace over the store or a lot file gives it. */
export interface MassReach {
  readonly entries: readonly { readonly id: number; readonly kind: string; readonly key: string }[];
  readonly ties: readonly {
    readonly source: number;
    readonly target: number;
    readonly name: TieName;
    readonly massG: string | null;
  }[];
}

/** Ties by which mass came in. */
const MASS: ReadonlySet<TieName> = new Set(['contains receipt', 'contains powder state', 'deposited']);

/**
 * Mass fractions of receipts in a powder state or in what a build took, over all mixing that came before. Each state is
 * looked at once, after everything that it went into, so that diamonds of blends cost what their ties cost. What lies on a
 * loop has no fraction, and is left out: the fractions then sum to less than 1.
 * @param from the state or build.
 * @param reach everything that it goes back to.
 */
export function powderShares(from: number, { entries, ties }: MassReach): PowderShare[] {
  const inputs = new Map<number, { input: number; massG: number }[]>();
  const waiting = new Map<number, number>();
  for (const { source, target, name, massG } of ties) {
    if (massG === null || !MASS.has(name)) continue;
    const known = inputs.get(source);
    if (known) known.push({ input: target, massG: Number(massG) });
    else inputs.set(source, [{ input: target, massG: Number(massG) }]);
  }
  for (const id of wentInto(from, inputs)) {
    for (const { input } of inputs.get(id) ?? []) waiting.set(input, (waiting.get(input) ?? 0) + 1);
  }
  const share = new Map([[from, 1]]);
  const ready = waiting.has(from) ? [] : [from];
  const done = new Set<number>();
  // Also over what is added on the way.
  for (const id of ready) {
    done.add(id);
    const own = inputs.get(id) ?? [];
    const total = own.reduce((sum, { massG }) => sum + massG, 0);
    for (const { input, massG } of own) {
      share.set(input, (share.get(input) ?? 0) + (share.get(id)! * massG) / total);
      const left = waiting.get(input)! - 1;
      waiting.set(input, left);
      if (left === 0) ready.push(input);
    }
  }
  const receipts = entries.filter(({ id, kind }) => kind === 'receipt' && id !== from && done.has(id));
  return largestFirst(new Map(receipts.map(({ id, key }) => [key, share.get(id)!])));
}

/**
 * Mass fraction of some receipts or states, all together, in everything that was made of them, by its entry. Each thing is looked at
 * once, after all that it was made of. What lies on a loop, or was made of what does, has no fraction, and is left out.
 * @param of their entries.
 * @param reach everything that what was made goes back to.
 */
export function shareOf(of: ReadonlySet<number>, { ties }: Pick<MassReach, 'ties'>): ReadonlyMap<number, number> {
  const made = new Map<number, { massG: number; ofIt: number; open: number }>();
  const intoOf = new Map<number, { into: number; massG: number }[]>();
  for (const { source, target, name, massG } of ties) {
    if (massG === null || !MASS.has(name) || of.has(source)) continue;
    const known = made.get(source) ?? { massG: 0, ofIt: 0, open: 0 };
    made.set(source, { massG: known.massG + Number(massG), ofIt: 0, open: known.open + 1 });
    intoOf.set(target, [...(intoOf.get(target) ?? []), { into: source, massG: Number(massG) }]);
  }
  const share = new Map<number, number>();
  const ready = [...new Set([...of, ...[...intoOf.keys()].filter((id) => !made.has(id))])];
  for (const id of ready) share.set(id, of.has(id) ? 1 : 0);
  // Also over what is added on the way.
  for (const id of ready) {
    for (const { into, massG } of intoOf.get(id) ?? []) {
      const one = made.get(into)!;
      one.ofIt += massG * share.get(id)!;
      one.open -= 1;
      if (one.open > 0) continue;
      share.set(into, one.ofIt / one.massG);
      ready.push(into);
    }
  }
  return share;
}

/** Mass fractions of receipts in what a build took, from the lot file alone. */
export function powderSharesOfBuild(facts: Facts, build: string): PowderShare[] {
  return sharesIn(facts, facts.lot.body.builds.find((item) => item.build === build)?.powder ?? []);
}

/** Mass fractions of receipts in a powder state, from the lot file alone. */
export const powderSharesOfState = (facts: Pick<Facts, 'powderStates' | 'receipts'>, state: string): PowderShare[] =>
  sharesIn(facts, [{ state, chargedG: '1' }]);

/** Mass fractions of receipts in every powder state of a lot file, in one pass: the fractions of what went in, by mass. */
export function sharesOfStates({
  powderStates,
}: Pick<Facts, 'powderStates'>): ReadonlyMap<string, readonly PowderShare[]> {
  const found = new Map<string, ReadonlyMap<string, number>>();
  for (const code of inputsFirst(powderStates)) {
    const { inputs = [] } = powderStates.get(code)?.body ?? {};
    const total = inputs.reduce((sum, { massG }) => sum + Number(massG), 0);
    const own = new Map<string, number>();
    for (const input of inputs) {
      const part = Number(input.massG) / total;
      const before = 'receipt' in input ? [[input.receipt, 1] as const] : (found.get(input.state) ?? []);
      for (const [receipt, fraction] of before) own.set(receipt, (own.get(receipt) ?? 0) + part * fraction);
    }
    found.set(code, own);
  }
  return new Map([...found].map(([code, own]) => [code, largestFirst(own)]));
}

const largestFirst = (fractions: ReadonlyMap<string, number>): PowderShare[] =>
  [...fractions]
    .map(([receipt, fraction]) => ({ receipt, fraction }))
    .sort((a, b) => b.fraction - a.fraction || (a.receipt < b.receipt ? -1 : 1));

function sharesIn(
  { powderStates, receipts }: Pick<Facts, 'powderStates' | 'receipts'>,
  charged: readonly { readonly state: string; readonly chargedG: string }[],
): PowderShare[] {
  const names = ['build', ...[...powderStates.keys()].map(stateName), ...[...receipts.keys()].map(receiptName)];
  const ids = new Map(names.map((name, id) => [name, id]));
  const tie = (source: string, target: string, name: TieName, massG: string) => {
    const [from, to] = [ids.get(source), ids.get(target)];
    return from === undefined || to === undefined ? [] : [{ source: from, target: to, name, massG }];
  };
  const ties = [
    ...charged.flatMap(({ state, chargedG }) => tie('build', stateName(state), 'deposited', chargedG)),
    ...[...powderStates.values()].flatMap(({ body }) =>
      body.inputs.flatMap((input) =>
        'receipt' in input
          ? tie(stateName(body.state), receiptName(input.receipt), 'contains receipt', input.massG)
          : tie(stateName(body.state), stateName(input.state), 'contains powder state', input.massG),
      ),
    ),
  ];
  const entries = [...receipts.keys()].map((key) => ({ id: ids.get(receiptName(key))!, kind: 'receipt', key }));
  return powderShares(ids.get('build')!, { entries, ties });
}

const stateName = (state: string): string => `state ${state}`;
const receiptName = (receipt: string): string => `receipt ${receipt}`;

/** The state itself and everything whose mass went into it. */
function wentInto(from: number, inputs: ReadonlyMap<number, readonly { input: number }[]>): ReadonlySet<number> {
  const found = new Set([from]);
  for (const id of found) for (const { input } of inputs.get(id) ?? []) found.add(input);
  return found;
}
