import { Injectable } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import type { Characteristic, Specification } from '../kinds/specification.js';
import { FamilySummaries, type StudySummary } from '../lots/family-summaries.js';
import { countFigure } from '../report/count-figure.js';
import { familyFigure } from '../report/family-figure.js';
import { figureView } from '../report/figure-view.js';
import { lotAddress, lotAnchorAddress, trendAddress, valuesOfLot } from '../report/page-addresses.js';
import { ableText } from '../report/phrases/able.js';
import { COUNT_FIGURE, FAMILY_PAGE, newestSignalText } from '../report/phrases/family-page.js';
import { ALWAYS, type BuildSummary, LAST_ENTRY, NEVER } from '../store/histories.js';
import { Store } from '../store/store.js';
import { turned } from '../web/turned.js';

export type FamilyOrder = 'bound' | 'signal';

/** A page that is asked for again shows what was studied meanwhile. */
const STUDY_MS = 1000;

/** Lots in the table at once; others stand on further pages. */
const LOTS_SHOWN = 40;

/** All characteristics of a family at once: charts in the order of what needs a look, and lots against characteristics. */
@Injectable()
export class FamilyPage {
  constructor(
    private readonly store: Store,
    private readonly studies: FamilySummaries,
  ) {}

  /** @throws NotFoundError without such a family, or a specification of it. */
  async view(family: string, order: FamilyOrder, row = 1) {
    const { read } = this.store;
    const document = await read.entries.current('family', family);
    if (!document) throw new NotFoundError('family', family);
    const specifications = (await read.entries.list('specification')).map(({ body }) => body);
    const own = specifications.filter((one) => one.family === family);
    if (own.length === 0) throw new NotFoundError('specification of family', family);
    const charts = [];
    const builds = new Map<string, BuildSummary[]>();
    const left: Characteristic[] = [];
    for (const specification of own) {
      const found = await this.studies.of(specification, family, STUDY_MS);
      left.push(...found.left);
      for (const [name, rows] of await this.builds(family, specification)) builds.set(name, rows);
      for (const item of specification.characteristics) {
        const known = found.left.includes(item) ? ('not counted' as const) : found.summaries.get(item.characteristic);
        charts.push(chartOf(family, item, known, builds.get(item.characteristic) ?? []));
      }
    }
    charts.sort(ORDERS[order]);
    const items = own.flatMap(({ characteristics }) => characteristics);
    return {
      family: document.body,
      order,
      left: left.map(({ title }) => title),
      counts: FAMILY_PAGE.counts(charts.map(({ says }) => says)),
      // One that is still to be studied may have a lower one.
      lowest: left.length > 0 ? undefined : charts.filter(({ bound }) => bound !== null).sort(ORDERS.bound)[0],
      charts: charts.map(({ figure, ...chart }, index) => ({
        ...chart,
        figure: figure && figureView(figure, chart.title, `family-${index}`),
      })),
      table: await this.table(items, builds, row),
    };
  }

  /** Of each characteristic its builds, in build order. */
  private async builds(family: string, { characteristics }: Specification): Promise<Map<string, BuildSummary[]>> {
    const names = characteristics.map(({ characteristic }) => characteristic);
    const asked = names.map((characteristic) => ({
      ...{ family, characteristic, seq: LAST_ENTRY, before: ALWAYS, from: NEVER, to: ALWAYS },
    }));
    const found = await this.store.read.histories.buildsOf(asked);
    return new Map(names.map((name, index) => [name, found[index]!]));
  }

  private async table(
    items: readonly Characteristic[],
    builds: ReadonlyMap<string, readonly BuildSummary[]>,
    row: number,
  ) {
    const lots = new Map<string, string>();
    for (const rows of builds.values()) {
      for (const { lot, builtAt } of rows) if ((lots.get(lot) ?? '') < builtAt) lots.set(lot, builtAt);
    }
    const page = turned(
      [...lots].sort((a, b) => Date.parse(b[1]) - Date.parse(a[1])),
      row,
      LOTS_SHOWN,
    );
    const latest = page.rows;
    const codes = latest.map(([lot]) => lot);
    const cells = new Map<string, BuildSummary[]>();
    for (const { characteristic } of items) {
      for (const lot of codes) cells.set(`${characteristic} ${lot}`, []);
      for (const row of builds.get(characteristic) ?? []) {
        cells.get(`${characteristic} ${row.lot}`)?.push(row);
      }
    }
    const counts = await this.counts(codes);
    return {
      turned: page,
      figures: countFigures(latest, counts),
      heads: items.map(({ characteristic, title, ucum }) => ({ characteristic, title, ucum })),
      rows: latest.map(([lot, builtAt]) => ({
        ...{ lot, builtAt: builtAt.slice(0, 10), ...counts.of(lot) },
        cells: items.map((item) => cellOf(item, lot, cells.get(`${item.characteristic} ${lot}`) ?? [])),
      })),
      totals: counts.totals,
    };
  }

  /** Log findings of the builds of lots, and nonconformities that touch parts of them, by what became of them. */
  private async counts(lots: readonly string[]) {
    const { entries, logs } = this.store.read;
    const lotOf = new Map<string, string>();
    const buildsOf = new Map<string, string[]>();
    for (const code of lots) {
      const body = (await entries.current('lot', code))?.body;
      for (const { serial } of body?.implants ?? []) lotOf.set(serial, code);
      for (const { coupon } of body?.coupons ?? []) lotOf.set(coupon, code);
      buildsOf.set(code, body?.builds.map(({ build }) => build) ?? []);
    }
    const findings = await logs.countsByBuild([...buildsOf.values()].flat());
    const nonconformities = new Map<string, Set<string>>();
    const kinds = new Map<string, number>();
    for (const { key, body } of await entries.namingParts('nonconformity', [...lotOf.keys()])) {
      const touched = new Set(body.touches.flatMap((thing) => lotOf.get(thing.key) ?? []));
      if (touched.size === 0) continue;
      for (const lot of touched) nonconformities.set(lot, (nonconformities.get(lot) ?? new Set()).add(key));
      const became = [...new Set((body.disposition ?? []).map((one) => one.as))];
      for (const kind of became.length === 0 ? ['open' as const] : became) kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
    }
    return {
      of: (lot: string) => ({
        findings: (buildsOf.get(lot) ?? []).reduce((sum, build) => sum + (findings.get(build) ?? 0), 0),
        builds: (buildsOf.get(lot) ?? []).map((build) => ({ build, findings: findings.get(build) ?? 0 })),
        nonconformities: nonconformities.get(lot)?.size ?? 0,
      }),
      totals: [...kinds].sort(([a], [b]) => (a < b ? -1 : 1)).map(([kind, count]) => FAMILY_PAGE.became(kind, count)),
    };
  }
}

/** Excursions of each build and nonconformities of each lot, oldest first. */
function countFigures(latest: readonly (readonly [lot: string, builtAt: string])[], { of }: Counts) {
  const lots = [...latest].reverse();
  const builds = lots.flatMap(([lot, builtAt]) =>
    of(lot).builds.map(({ build, findings }) => ({ lot, builtAt, name: build, count: findings })),
  );
  const touched = lots.map(([lot, builtAt]) => ({ lot, builtAt, name: lot, count: of(lot).nonconformities }));
  const asked = [
    [COUNT_FIGURE.findings, builds, (lot: string) => lotAnchorAddress(lot, 'log findings')],
    [COUNT_FIGURE.nonconformities, touched, (lot: string) => lotAddress(lot)],
  ] as const;
  return asked.flatMap(([title, counts, toLot], index) => {
    const figure = countFigure(title, counts, toLot);
    return figure === undefined ? [] : [figureView(figure, title, `family-count-${index}`)];
  });
}

interface Counts {
  of(lot: string): {
    readonly builds: readonly { readonly build: string; readonly findings: number }[];
    readonly nonconformities: number;
  };
}

function chartOf(
  family: string,
  item: Characteristic,
  known: StudySummary | 'not counted' | undefined,
  builds: readonly BuildSummary[],
) {
  const isCounted = known !== 'not counted';
  const summary = isCounted ? known : undefined;
  const signal = summary?.signals.toSorted((a, b) => Date.parse(b.at) - Date.parse(a.at))[0];
  return {
    title: item.title,
    to: trendAddress(family, item.characteristic),
    says: summary === undefined ? (isCounted ? ('no plan' as const) : ('not counted' as const)) : summary.index.says,
    able: summary === undefined ? FAMILY_PAGE[isCounted ? 'noPlan' : 'notCounted'] : ableText(summary.index),
    bound: summary?.index.ppkLower ?? null,
    signalAt: signal?.at ?? null,
    signalSays:
      signal === undefined
        ? summary === undefined
          ? ''
          : FAMILY_PAGE.noSignal
        : newestSignalText(signal, summary!.signals.length),
    isOpen: summary?.signals.some(({ isOpen }) => isOpen) ?? false,
    figure: familyFigure(item, summary, builds),
  };
}

type Chart = ReturnType<typeof chartOf>;

const ORDERS: Readonly<Record<FamilyOrder, (a: Chart, b: Chart) => number>> = {
  bound: (a, b) => (a.bound ?? Number.POSITIVE_INFINITY) - (b.bound ?? Number.POSITIVE_INFINITY) || 0,
  signal: (a, b) =>
    (b.signalAt === null ? 0 : Date.parse(b.signalAt)) - (a.signalAt === null ? 0 : Date.parse(a.signalAt)),
};

/** The mean of a lot, which leads to its values and their files. */
function cellOf(item: Characteristic, lot: string, rows: readonly BuildSummary[]) {
  const n = rows.reduce((sum, row) => sum + row.n, 0);
  const bounds = rows.reduce((sum, row) => sum + row.censored, 0);
  const mean = n === 0 ? null : rows.reduce((sum, row) => sum + (row.mean ?? 0) * row.n, 0) / n;
  const isBeyond = rows.some(
    ({ min, max }) =>
      (min !== null && item.lower !== undefined && min < Number(item.lower)) ||
      (max !== null && item.upper !== undefined && max > Number(item.upper)),
  );
  return {
    to: valuesOfLot(item)(lot),
    title: item.title,
    text: FAMILY_PAGE.cell(mean, n, bounds),
    beyond: isBeyond ? FAMILY_PAGE.beyond : '',
  };
}
