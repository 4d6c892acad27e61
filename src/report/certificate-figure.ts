import type { SupplierTrend } from '../assessment/family/certificate-trend.js';
import { tradeUnit } from '../dossier/unit-text.js';
import { textMetric } from '../pdf/shaping.js';
import { lotsOverTime } from './charts/lots-over-time.js';
import type { LotFigure } from './lot-figure.js';
import { findAddress } from './page-addresses.js';
import { CERTIFICATES } from './phrases/certificates.js';
import { STUDY_FIGURES } from './phrases/figures/family-study.js';

/** Certified values of one supplier at the days of delivery. @param reaching values that the scale reaches too. */
export function supplierFigure(
  { supplier, points }: SupplierTrend,
  property: string,
  ucum: string,
  reaching: readonly number[],
): LotFigure {
  const places = points.map(({ value }) => (String(value).split('.')[1] ?? '').length);
  const scene = lotsOverTime(
    {
      ...{ title: CERTIFICATES.chart(property, supplier), valueLabel: CERTIFICATES.title(property, ucum), reaching },
      timeLabel: CERTIFICATES.delivered,
      decimals: Math.min(5, Math.max(0, ...places)),
      isJoined: points.every(({ isBound }) => !isBound),
      points: points.map(({ heat, receipt, receivedAt, value, isBound, stated }) => ({
        ...{ lot: heat, at: receivedAt, name: receipt, value, to: findAddress(receipt) },
        ...(isBound ? { apart: stated.startsWith('>') ? ('above' as const) : ('below' as const) } : {}),
      })),
    },
    textMetric,
  );
  return {
    scene,
    alt: STUDY_FIGURES.alt({ unit: tradeUnit(ucum), points: points.length, lines: [], flags: [] }),
    caption: CERTIFICATES.caption,
  };
}
