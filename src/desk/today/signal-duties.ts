import type { OpenSignal } from '../../lots/family-studies.js';
import { lotAddress, trendAddress } from '../../report/page-addresses.js';
import { ruleText } from '../../report/phrases/family-study.js';
import { TODAY } from '../../report/phrases/today.js';
import type { Duty } from './duty.js';

const DAY_MS = 86_400_000;

/** Signals of the charts of families of which nobody has said what they came from: one thing to do for each chart. */
export function signalDuties(open: readonly OpenSignal[], today: string): Duty[] {
  const charts = new Map<string, OpenSignal[]>();
  for (const one of open) {
    const chart = `${one.family} ${one.characteristic}`;
    charts.set(chart, [...(charts.get(chart) ?? []), one]);
  }
  return [...charts.values()].map((own) => {
    const { family, characteristic, title, outcomeDays, signal } = own.reduce((oldest, one) =>
      Date.parse(one.signal.at) < Date.parse(oldest.signal.at) ? one : oldest,
    );
    const by = new Date(Date.parse(signal.at) + outcomeDays * DAY_MS).toISOString().slice(0, 10);
    const lot = signal.lots.at(-1)!;
    return {
      topic: 'decide',
      what: TODAY.signal(title, family, signal.points.at(-1)!, ruleText(signal.rule), own.length - 1),
      of: { text: lot, href: lotAddress(lot) },
      units: [],
      by,
      overdue: by < today,
      button: {
        text: TODAY.seeCharts,
        href: trendAddress(family, characteristic),
      },
    };
  });
}
