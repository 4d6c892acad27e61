import type { Cell } from '../cell.js';

/** The first case heals fast and asks six weeks, the second slowly and asks twelve of nearly all of its strength. */
export function addWindows({ documents }: Cell): void {
  for (const [n, holdWeeks, strengthLeft] of [
    [1, 6, '0.75'],
    [2, 12, '0.85'],
  ] as const) {
    documents[`site/cases/K-101-${n}-design.yaml`]!.zones[0].section = { shape: 'plate', sizeMm: '1.5' };
    documents[`site/cases/K-101-${n}-window.yaml`] = {
      kind: 'support-window',
      format: 1,
      case: `K-101-${n}`,
      revision: 1,
      title: 'Window of healing',
      zones: [{ zone: 'span', holdWeeks, strengthLeft, stiffnessLeft: '0.50' }],
      source: 'invented',
      givenBy: { name: 'Dr Example', institution: 'Invented Hospital', at: '2031-01-12T10:00:00+01:00' },
      approval: { by: 'P-QE', at: '2031-01-14T09:00:00+01:00' },
    };
  }
}
