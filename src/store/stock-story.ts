import type { StockOrigin, StockStory, StockUse } from '../dossier/stock-story.js';
import { closuresOf, firstMadeIn } from '../kinds/build-chain.js';
import type { Build } from '../kinds/lot.js';
import { fateOf } from '../kinds/lot-after-build.js';
import { heatKey, type Receipt } from '../kinds/receipt.js';
import type { LotNow } from '../kinds/split-lot.js';
import type { StoredRevision } from './entries.js';
import type { Gathering } from './gathering.js';
import { currentLot } from './lots-now.js';
import type { Reads } from './repositories.js';

type Tell = (document: StoredRevision) => void;

/** The story of each stock part on which parts of a lot were built; undefined where there is none. */
export async function stockStory(read: Reads, gathered: Gathering, lot: LotNow): Promise<StockStory | undefined> {
  const own = [...lot.implants, ...lot.coupons].flatMap(({ builtOn }) => builtOn ?? []);
  if (own.length === 0) return undefined;
  const tell: Tell = ({ ledgerSeq }) => gathered.touchedBy(ledgerSeq);
  const closed = Math.max(...lot.builds.map(({ closedAt }) => Date.parse(closedAt)));
  const origins: StockOrigin[] = [];
  const uses: StockUse[] = [];
  const codes = [...new Set(own)].sort();
  // A set is walked also over what is added on the way, and each stock part once: what goes round in a circle ends.
  const parts = new Set(codes);
  for (const code of parts) {
    const { body } = await read.entries.currentOrThrow('stock-part', code);
    if (body.implant === undefined) continue;
    const origin = await originOf(read, code, body.implant, tell);
    origins.push(origin);
    if (origin.builtOn) parts.add(origin.builtOn.stockPart);
  }
  for (const code of codes) {
    const all = await usesOfStock(read, code, tell);
    uses.push(...all.filter(({ closedAt }) => Date.parse(closedAt) <= closed));
  }
  return { origins, uses };
}

/** Everything that was built on a stock part and not only planned, in order of time. */
export async function usesOfStock(read: Reads, stockPart: string, tell: Tell = () => {}): Promise<StockUse[]> {
  const { entries } = read;
  const implants = await entries.tiedTo('implant', 'stock-part', stockPart, 'built on');
  const coupons = await entries.tiedTo('coupon', 'stock-part', stockPart, 'built on');
  const found: StockUse[] = [];
  for (const part of [...implants, ...coupons]) {
    tell(part);
    const build = await firstBuild(read, part.body.build);
    if (build === undefined) continue;
    found.push({ stockPart, part: part.key, lot: part.body.lot, build: build.build, closedAt: build.closedAt });
  }
  return found.sort((a, b) => Date.parse(a.closedAt) - Date.parse(b.closedAt) || (a.part < b.part ? -1 : 1));
}

/** The build in which something was made first: of the one named and those that it continues. */
const firstBuild = async (read: Reads, build: string) => firstMadeIn({ builds: await chainOf(read, build) }, { build });

/** A build and those that it continues, the last one first. */
async function chainOf({ entries }: Reads, build: string): Promise<Build[]> {
  const builds: Build[] = [];
  for (let next: string | undefined = build; next !== undefined && builds.every((one) => one.build !== next); ) {
    const { body }: { readonly body: Build } = await entries.currentOrThrow('build', next);
    builds.push(body);
    next = body.continues?.build;
  }
  return builds;
}

async function originOf(read: Reads, stockPart: string, serial: string, tell: Tell): Promise<StockOrigin> {
  const implant = await read.entries.currentOrThrow('implant', serial);
  tell(implant);
  // One that a further closure of the part goes on from stands in the way back of both.
  const chain = new Map<string, Build>();
  for (const closure of closuresOf(implant.body)) {
    for (const one of (await chainOf(read, closure)).reverse()) chain.set(one.build, one);
  }
  const builds = [...chain.values()];
  const receipts = await receiptsOfPowder(read, builds, tell);
  const { builtOn } = implant.body;
  const under = builtOn === undefined ? undefined : await stockUnder(read, builtOn, tell);
  const corrected = await correctedPapers(read, builds, under?.receipt?.receipt, tell);
  const lot = await currentLot(read, implant.body.lot);
  tell(await read.entries.currentOrThrow('lot', lot.lot));
  const fate = fateOf(lot, serial);
  return {
    ...{ stockPart, implant: serial, lot: lot.lot, builds: builds.map(({ build }) => build) },
    receipts: receipts.map(({ key }) => key),
    heats: [...new Set(receipts.flatMap(({ body }) => heatsOf(body)))].sort(),
    ...(corrected.length === 0 ? {} : { corrected }),
    ...(under === undefined ? {} : { builtOn: under }),
    ...(fate === undefined ? {} : { fate: { as: fate.as, at: fate.at, by: fate.by } }),
    events: await eventsOf(read, serial, tell),
  };
}

const heatsOf = ({ supplier, heats }: Receipt): string[] => heats.map((heat) => heatKey(supplier, heat));

/** The stock part on which a former implant was built, with the paper that it came with. */
async function stockUnder({ entries }: Reads, code: string, tell: Tell): Promise<NonNullable<StockOrigin['builtOn']>> {
  const stock = await entries.currentOrThrow('stock-part', code);
  tell(stock);
  const { stockPart, material } = stock.body;
  if (stock.body.receipt === undefined) return { stockPart, material };
  const received = await entries.currentOrThrow('receipt', stock.body.receipt);
  tell(received);
  const { receipt, certificate, expiry } = received.body;
  return {
    ...{ stockPart, material },
    receipt: {
      ...{ receipt, heats: heatsOf(received.body).sort() },
      ...(certificate === undefined ? {} : { certificate: certificate.number }),
      ...(expiry === undefined ? {} : { expiry }),
    },
  };
}

/** Receipts in the powder of builds, through every blend, each once. */
async function receiptsOfPowder({ entries }: Reads, builds: readonly Build[], tell: Tell) {
  const states = new Set(builds.flatMap(({ powder }) => powder.map(({ state }) => state)));
  const codes = new Set<string>();
  // A set is walked also over what is added on the way, and each state once.
  for (const code of states) {
    const state = await entries.currentOrThrow('powder-state', code);
    tell(state);
    for (const input of state.body.inputs ?? []) {
      if ('receipt' in input) codes.add(input.receipt);
      else states.add(input.state);
    }
  }
  const receipts = await Promise.all([...codes].sort().map((code) => entries.currentOrThrow('receipt', code)));
  for (const receipt of receipts) tell(receipt);
  return receipts;
}

/**
 * Of what went into builds, certificates that correct another. An implant that was given up asks nothing more in its own lot:
 * so what comes out later of its metal is asked where it was built on.
 * @param bar receipt of the stock on which its first build was made.
 */
async function correctedPapers(
  read: Reads,
  builds: readonly Build[],
  bar: string | undefined,
  tell: Tell,
): Promise<NonNullable<StockOrigin['corrected']>> {
  const found: NonNullable<StockOrigin['corrected']> = [];
  for (const [index, one] of builds.entries()) {
    const powder = await receiptsOfPowder(read, [one], tell);
    const gas = (one.gas ?? []).map(({ receipt }) => receipt);
    const codes = [...powder.map(({ key }) => key), ...gas, ...(index === 0 && bar !== undefined ? [bar] : [])];
    for (const code of new Set(codes)) {
      const received = await read.entries.currentOrThrow('receipt', code);
      tell(received);
      const { corrects, certificate } = received.body;
      if (corrects === undefined || certificate === undefined) continue;
      const { number, issued } = certificate;
      const told = { receipt: code, certificate: number, issued, replaces: corrects.certificate };
      found.push({ ...told, build: one.build, closedAt: one.closedAt });
    }
  }
  return found;
}

/** Documents that say where a unit went, and nonconformities that touch it: by name and time alone, without a word of others. */
export async function eventsOf(
  { entries }: Reads,
  serial: string,
  tell: Tell = () => {},
): Promise<StockOrigin['events']> {
  const tied = <K extends 'handover' | 'outcome' | 'unit-return' | 'disposal' | 'nonconformity'>(
    kind: K,
    name: Parameters<typeof entries.tiedTo>[3],
  ) => entries.tiedTo(kind, 'implant', serial, name);
  const [handovers, outcomes] = [await tied('handover', 'hands over'), await tied('outcome', 'outcome of')];
  const [returns, disposals] = [await tied('unit-return', 'takes back'), await tied('disposal', 'destroys')];
  const opened = await tied('nonconformity', 'touches');
  for (const document of [...handovers, ...outcomes, ...returns, ...disposals, ...opened]) tell(document);
  const events = [
    ...handovers.map(({ key, body }) => ({ kind: 'handover', key, what: 'handed over', at: body.at })),
    ...outcomes.map(({ key, body }) => ({ kind: 'outcome', key, what: body.what as string, at: body.on })),
    ...returns.map(({ key, body }) => ({ kind: 'unit-return', key, what: 'returned', at: body.at })),
    ...disposals.map(({ key, body }) => ({ kind: 'disposal', key, what: 'destroyed', at: body.at })),
    ...opened.map(({ key, body }) => {
      const as = body.disposition?.find(({ units }) => units.includes(serial))?.as;
      return { kind: 'nonconformity', key, what: as ?? 'not decided', at: body.opened.at };
    }),
  ];
  return events.sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || (a.key < b.key ? -1 : 1));
}
