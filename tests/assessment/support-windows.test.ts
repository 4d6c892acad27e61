import { supportWindows, type ZoneWindow } from '../../src/assessment/support-windows.js';
import type { Facts } from '../../src/dossier/facts.js';
import { windowTables } from '../../src/report/support-window-rows.js';
import type { Cell } from '../support/cell.js';
import { addDesigns } from '../support/documents/designs.js';
import { addExposures, LOSSES_WITH_REPLICATES } from '../support/documents/exposures.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';

/** The first case heals fast and asks six weeks, the second slowly and asks twelve of nearly all of its strength. */
function addWindows({ documents }: Cell): void {
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

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => {
    addDesigns(cell);
    addExposures(cell, LOSSES_WITH_REPLICATES);
    addWindows(cell);
  }, '2031-12-01T12:00:00Z');
});

const windowsWith = (change: (copy: Editable) => void = () => {}): ZoneWindow[] =>
  supportWindows(edited(facts, change));
const exposed = (copy: Editable, key: string): Editable => copy.exposures.get(`L-1-${key}:1`).body;
const windowOf = (copy: Editable, n: number): Editable =>
  copy.caseParts.get(`K-101-${n}`).pinned.find(({ kind }: Editable) => kind === 'support-window').body.zones[0];

describe('support windows of a lot', () => {
  it('are met by the coupons of the one case and missed by the same loss in the other', () => {
    const [fast, slow] = windowsWith();
    expect([fast!.from, fast!.coupons]).toEqual(['case', ['L-1-W1']]);
    // At six weeks 46 µm, times 1.5: a plate of 1.5 mm keeps 1 − 2·0.069/1.5 = 0.908, squared 0.824.
    expect(fast!.answer).toMatchObject({ outcome: 'inside', isAtLeast: false });
    // The law misses the mean of a duration by no more than the band.
    expect('why' in fast!.answer ? 0 : fast!.answer.strength!.mean).toBeCloseTo(0.824, 2);
    // At twelve weeks 79.6 µm, times 1.5: 0.841² = 0.707, below 0.85.
    expect(slow!.answer).toMatchObject({ outcome: 'outside' });
    expect(fast!.localisation!.factor).toBeCloseTo(1.5, 2);
  });

  it('take a section that the design gives as a table as they take the plate that it was computed of', () => {
    // Roark's Formulas, properties of sections: rectangle b × h, area bh, section modulus bh²/6, second moment bh³/12.
    const rows = [0, 40, 80, 120, 160, 200].map((depthUm) => {
      const [b, h] = [8, 1.5 - (2 * depthUm) / 1000];
      const figures = { areaMm2: b * h, sectionModulusMm3: (b * h ** 2) / 6, secondMomentMm4: (b * h ** 3) / 12 };
      return Object.fromEntries(Object.entries({ depthUm, ...figures }).map(([name, value]) => [name, String(value)]));
    });
    const change = (copy: Editable) => {
      const design = copy.caseParts.get('K-101-1').pinned.find(({ kind }: Editable) => kind === 'case-design');
      design.body.zones[0].section = { shape: 'table', rows };
    };
    const [plate, table] = [windowsWith()[0]!, windowsWith(change)[0]!].map(({ answer }) =>
      'why' in answer ? undefined : answer.strength,
    );
    expect(windowsWith(change)[0]!.section).toMatchObject({ shape: 'table' });
    for (const end of ['mean', 'lower', 'upper'] as const) expect(table![end]).toBeCloseTo(plate![end], 2);
  });

  it('cannot be decided beyond the longest exposure', () => {
    const [fast] = windowsWith((copy) => {
      windowOf(copy, 1).holdWeeks = 13;
      windowOf(copy, 1).strengthLeft = '0.1';
    });
    expect(fast!.answer).toMatchObject({ outcome: 'cannot be decided', isAtLeast: true, marginWeeks: -1 });
  });

  it.each([
    [
      'a control outside its range',
      (copy: Editable) => Object.assign(exposed(copy, 'W1:C').control, { value: '0.5' }),
      'control',
    ],
    ['faces of two sorts', (copy: Editable) => Object.assign(exposed(copy, 'W1:B'), { face: 'milled' }), 'apart'],
    [
      'a class of zones that no study compared',
      (copy: Editable) => (copy.studies.get('EQ rev 1').body.zoneClasses = ['screw-hole']),
      'no study',
    ],
    [
      'exposures of another class',
      (copy: Editable) =>
        ['A', 'B', 'C', 'D', 'E'].map((piece) => Object.assign(exposed(copy, `W1:${piece}`), { zoneClass: 'hole' })),
      'no exposures',
    ],
    [
      'weighings without their uncertainty',
      (copy: Editable) => delete exposed(copy, 'W1:D').uncertainty,
      'no uncertainty',
    ],
    [
      'pits that nobody measured',
      (copy: Editable) => ['A', 'B', 'C', 'D', 'E'].map((piece) => delete exposed(copy, `W1:${piece}`).deepestUm),
      'no localisation',
    ],
  ])('say why nothing is computed: %s', (_, change, why) => {
    const [fast] = windowsWith(change);
    expect(fast!.answer).toMatchObject({ why });
    const [row] = windowTables(edited(facts, change))!.windows;
    expect(row!.cells.join(' | ')).toContain('cannot be decided: ');
    expect(row!.cells.join(' | ')).not.toMatch(/undefined|NaN/);
  });

  it.each([
    [
      'no duration has two specimens',
      (copy: Editable) => ['D', 'E'].map((piece) => copy.exposures.delete(`L-1-W1:${piece}:1`)),
    ],
    [
      'pits were measured on one specimen',
      (copy: Editable) => ['A', 'B', 'C', 'D'].map((piece) => delete exposed(copy, `W1:${piece}`).deepestUm),
    ],
  ])('cannot be decided, with the reason: %s', (words, change) => {
    expect(windowsWith(change)[0]!.answer).toMatchObject({ outcome: 'cannot be decided' });
    expect(windowTables(edited(facts, change))!.windows[0]!.cells[4]).toContain(words);
  });

  it('fall back on the window of the family, and say so', () => {
    const change = (copy: Editable) => {
      copy.family.body.support = {
        shape: 'plate',
        sizeMm: '1.5',
        weeks: 6,
        strengthLeft: '0.7',
        rate: 'rate',
        basis: '-',
      };
      for (const part of copy.caseParts.values()) {
        part.pinned = part.pinned.filter(({ kind }: Editable) => kind !== 'support-window');
      }
    };
    expect(
      windowsWith(change).map(({ from, zone, answer }) => [from, zone, 'why' in answer ? '' : answer.outcome]),
    ).toEqual([
      ['family', 'I1-span', 'inside'],
      ['family', 'I2-span', 'inside'],
    ]);
    expect(windowTables(edited(facts, change))!.windows[0]!.cells[1]).toContain('default of the family');
  });

  it('are told in a table, with what each class of zones was made by and lost', () => {
    const tables = windowTables(facts)!;
    expect(tables.windows.map(({ cells, isAttention }) => [cells[0], isAttention])).toEqual([
      ['L-1-I1, span', false],
      ['L-1-I2, span', true],
    ]);
    expect(tables.zones).toEqual([
      ['load-bearing', expect.stringContaining('force 40 N'), '77.3 µm in 12 weeks', 'L-1-W1'],
    ]);
  });

  it('withhold what is withheld', () => {
    const withheld = windowsWith((copy) => {
      copy.caseParts.delete('K-101-2');
      copy.cases.delete('K-101-2');
    });
    expect(withheld.map(({ serial }) => serial)).toEqual(['L-1-I1']);
  });
});
