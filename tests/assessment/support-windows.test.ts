import { assess } from '../../src/assessment/assess.js';
import { runCheck } from '../../src/assessment/checks/check.js';
import { supportWindowMet } from '../../src/assessment/checks/support-window-met.js';
import { supportWindows, type ZoneWindow } from '../../src/assessment/support-windows.js';
import type { Facts } from '../../src/dossier/facts.js';
import { SIMULATION } from '../../src/kinds/degradation/simulation.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { exposureTable } from '../../src/report/exposure-rows.js';
import { windowTables } from '../../src/report/support-window-rows.js';
import { Carried } from '../support/by-note/carried.js';
import { checkAll, statedChecks } from '../support/by-note/checks.js';
import { windowsMet } from '../support/by-note/windows.js';
import { addDesigns } from '../support/documents/designs.js';
import { addExposures, LOSSES_WITH_REPLICATES } from '../support/documents/exposures.js';
import { addWindows } from '../support/documents/windows.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf, listed } from '../support/note-files.js';
import { textsOf } from '../support/scenes.js';
import { signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => {
    addDesigns(cell);
    addExposures(cell, LOSSES_WITH_REPLICATES);
    addWindows(cell);
  }, '2031-12-01T12:00:00Z');
});

const windowsWith = (change: (copy: Editable) => void = () => {}): readonly ZoneWindow[] =>
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

  it('are computed once, for verdict, record and page', () => {
    expect(supportWindows(facts)).toBe(supportWindows(facts));
    const again = supportWindows(edited(facts, () => {}));
    expect(again).not.toBe(supportWindows(facts));
    expect(again.map(({ answer }) => answer)).toEqual(supportWindows(facts).map(({ answer }) => answer));
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

  it('rest on family, window, design, studies, exposures of coupons and of the implant itself, and controls of their baths', () => {
    const before = windowsWith()[0]!.restsOn;
    const moved: ((copy: Editable) => unknown)[] = [
      (copy) => (copy.family.digest = 'other'),
      ...['support-window', 'case-design'].map(
        (kind) => (copy: Editable) =>
          (copy.caseParts.get('K-101-1').pinned.find((one: Editable) => one.kind === kind).digest = 'other'),
      ),
      (copy) => (copy.studies.get('EQ rev 1').digest = 'other'),
      (copy) => (copy.exposures.get('L-1-W1:C:1').digest = 'other'),
      (copy) => ownSection(copy, '1.45'),
      (copy) =>
        copy.exposures.set('L-9:1', {
          ...copy.exposures.get('L-1-W1:C:1'),
          ...{ key: 'L-9:1', digest: 'of a control' },
          body: { ...exposed(copy, 'W1:C'), specimen: 'L-9' },
        }),
    ];
    for (const change of moved) expect(windowsWith((copy) => void change(copy))[0]!.restsOn).not.toEqual(before);
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
    ['an area that may as well be none', (copy: Editable) => unbounded(copy, 'W1:D'), 'no bound'],
    [
      'a zone that is none of the implant',
      (copy: Editable) => {
        copy.family.body.support = SUPPORT;
        windowOf(copy, 1).zone = 'bridge';
      },
      'no zone class',
    ],
    [
      'a zone of which neither design nor family states the section',
      (copy: Editable) => {
        delete copy.family.body.support;
        delete designZone(copy).section;
      },
      'no section',
    ],
    ['a current that was measured and nothing weighed', (copy: Editable) => pieces(copy, byCurrent), 'no exposures'],
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
      copy.family.body.support = SUPPORT;
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

  it('are told in a table, and zone by zone with what it was made by and what was measured there', () => {
    const tables = windowTables(facts)!;
    expect(tables.windows.map(({ cells, outcome }) => [cells[0], outcome])).toEqual([
      ['L-1-I1, span', 'inside'],
      ['L-1-I2, span', 'outside'],
    ]);
    expect(tables.zones.map(({ caption, rows }) => [caption, rows])).toEqual([
      [
        'Zones of L-1-I1: settings, and what was measured there',
        [
          [
            ...['span (load-bearing)', expect.stringContaining('force 40 N')],
            ...['L-1-W1: 77.3 µm in 12 weeks, 0.336 mm/year', expect.stringMatching(/MPa/), 'not measured'],
            '6 weeks: inside; 3 weeks more',
          ],
        ],
      ],
      ['Zones of L-1-I2: settings, and what was measured there', [expect.any(Array)]],
    ]);
  });

  it('tell of other metals in the construct where a case has some', () => {
    const stated = (copy: Editable) => {
      copy.cases.get('K-101-1').body.otherMetals = 'none';
      copy.cases.get('K-101-2').body.otherMetals = 'two titanium screws';
    };
    expect(windowTables(edited(facts, stated))!.metals).toEqual(['Other metals near L-1-I2: two titanium screws.']);
  });

  it('draw the section that was measured on the implant itself, and no more left from then on', () => {
    const [loss, other] = windowTables(edited(facts, (copy) => ownSection(copy, '1.2')))!.figures;
    // 500 (1.5 − 1.2) µm went from each face: more than the coupons tell at any time.
    const own = textsOf(loss!.scene).filter((text) =>
      text.startsWith('smallest section measured on the implant itself'),
    );
    expect([own.length, loss!.alt]).toEqual([1, expect.stringContaining('150 µm after 12 weeks')]);
    expect(textsOf(loss!.scene)[0]).toMatch(/of L-1-I1$/);
    expect(textsOf(other!.scene).join()).not.toContain('measured on the implant itself');
  });

  it('do not draw it where the design gives a table, in which it has no depth, and say so', () => {
    const row = (depthUm: number, left: string) => ({
      ...{ depthUm: String(depthUm), areaMm2: left, sectionModulusMm3: left, secondMomentMm4: left },
    });
    const [loss] = windowTables(
      edited(facts, (copy) => {
        ownSection(copy, '1.2');
        designZone(copy).section = { shape: 'table', rows: [row(0, '12'), row(200, '11'), row(400, '10')] };
      }),
    )!.figures;
    const words = textsOf(loss!.scene).join(' ');
    expect(words).not.toContain('smallest section measured on the implant itself');
    expect(words).toContain('A section was measured on the implant itself. It is not drawn');
  });

  it('share a picture only where the same is asked and answered', () => {
    const pictures = (strengthLeft: string) =>
      windowTables(
        edited(facts, (copy) => {
          const { coupons } = copy.lot.body;
          coupons.find(({ coupon }: Editable) => coupon === 'L-1-W1').standsFor = ['L-1-I1', 'L-1-I2'];
          coupons.find(({ coupon }: Editable) => coupon === 'L-1-W2').standsFor = [];
          Object.assign(windowOf(copy, 2), structuredClone(windowOf(copy, 1)), { strengthLeft });
        }),
      )!.zones.map(({ caption, rows }) => [/of (.*):/.exec(caption)![1], rows]);
    const same = pictures('0.75');
    expect(same).toEqual([['L-1-I1, L-1-I2', expect.any(Array)]]);
    const [rows] = same.map(([, of]) => of);
    // What the table tells is the same: only the line in the picture lies elsewhere.
    expect(pictures('0.751')).toEqual([
      ['L-1-I1', rows],
      ['L-1-I2', rows],
    ]);
  });

  it('take the settings of each class from the recipe of its implant', () => {
    const other = edited(facts, (copy) => {
      const [key, recipe] = [...copy.recipes].find(([, one]) =>
        one.body.zones.some((zone: Editable) => zone.class === 'load-bearing'),
      )!;
      const body = structuredClone(recipe.body);
      const peen = body.zones.find((zone: Editable) => zone.class === 'load-bearing').steps[0];
      peen.parameters = [{ parameter: 'overlap', set: '0.5', ucum: '1' }];
      copy.recipes.set(key.replace(/\d+$/, '99'), { ...recipe, body: { ...body, revision: 99 } });
      copy.lot.body.implants.find(({ serial }: Editable) => serial === 'L-1-I2').recipe.revision = 99;
    });
    const [first, second] = windowTables(other)!.zones.map(({ rows }) => rows[0]![1]);
    expect(first).toContain('force 40 N');
    expect(second).toMatch(/overlap 0\.5(?:[,;]|$)/);
  });

  it('are drawn: loss against time once for each set of coupons, and the zones of each implant', () => {
    const { figures, zones } = windowTables(facts)!;
    expect([...figures, ...zones.map(({ figure }) => figure)].map(({ alt }) => alt)).toEqual([
      'Deepest attack over the weeks in the medium, for zones of class load-bearing: 117 µm after 12 weeks, where the exposures end.',
      'Deepest attack over the weeks in the medium, for zones of class load-bearing: 119 µm after 12 weeks, where the exposures end.',
      'L-1-I1: span (load-bearing), 6 weeks: inside; 3 weeks more.',
      expect.stringMatching(/^L-1-I2: span \(load-bearing\), 12 weeks: outside; known to hold for \d of 12 weeks\.$/),
    ]);
    // What a plate of 1.5 mm loses until 75 % of its strength are left: 750 (1 − √0.75) µm.
    expect(textsOf(figures[0]!.scene)).toContain('L-1-I1 span: at most 100 µm for 6 weeks');
  });

  it('stand beside the exposures that they rest on, each with its conditions and how well it is known', () => {
    const { conditions, rows } = exposureTable(facts);
    expect(conditions).toEqual([
      'a: face peened, zones load-bearing, SBF revision 1 batch SBF-31-01, by TM-D revision 1, 37.0 °C, 26.5 mL/cm², ' +
        'changed every 48 h, at rest, not sterilised before, control pure Mg 0.31 mm/year (0.25 to 0.40).',
    ]);
    expect(rows).toHaveLength(10);
    expect(rows[0]).toEqual([
      ...['L-1-W1, A', 'a', '7.40 / 7.62 / 7.55', '2', expect.stringMatching(/^20\.00\d ± 0\.09\d$/)],
      expect.stringMatching(/^0\.521\d ± 0\.002\d, mass loss, area 5\d %$/),
    ]);
  });

  it('are simulated by what the lot file carries: the same digits from the same seed, and none without it', () => {
    expect(facts.simulation).toEqual(SIMULATION);
    const told = (change: (copy: Editable) => void) => {
      const copy = edited(facts, (one) => {
        rough(one, '0.8', '0.775');
        change(one);
      });
      return { cells: windowTables(copy)!.windows[0]!.cells, rates: exposureTable(copy).rows };
    };
    const [one, again] = [told(() => {}), told(() => {})];
    expect(again).toEqual(one);
    expect(one.cells[4]).toMatch(/^cannot be decided; mostly measuring/);
    expect(one.rates[0]![5]).toContain('uncertainty simulated');
    const first = told((copy) => delete copy.simulation);
    expect(first.cells[4]).toMatch(/^inside/);
    expect(first.rates[0]![5]).not.toContain('simulated');
    expect(told((copy) => (copy.simulation = { ...SIMULATION, seed: [5, 6, 7, 8] })).rates).not.toEqual(one.rates);
  });

  it('say where an end is that of the simulation', () => {
    const copy = edited(facts, (one) => rough(one, '0.4', '0.7'));
    expect(windowTables(copy)!.windows[0]!.cells[4]).toContain('an end from the simulation, which reaches farther');
  });

  it('withhold what is withheld', () => {
    const withheld = windowsWith((copy) => {
      copy.caseParts.delete('K-101-2');
      copy.cases.delete('K-101-2');
    });
    expect(withheld.map(({ serial }) => serial)).toEqual(['L-1-I1']);
  });
});

/** The specification lets windows decide; `asks` weeks and strength of the first case. */
const deciding =
  (change: (copy: Editable) => void = () => {}) =>
  (copy: Editable) => {
    copy.specification.body.supportWindow = 'decides';
    windowOf(copy, 2).strengthLeft = '0.5';
    change(copy);
  };
const pieces = (copy: Editable, change: (body: Editable, index: number) => void) => {
  for (const [index, piece] of ['A', 'B', 'C', 'D', 'E'].entries()) change(exposed(copy, `W1:${piece}`), index);
};
/** How well the area is known, and what the first case asks. */
const rough = (copy: Editable, areaCm2: string, strengthLeft: string) => {
  pieces(copy, (body) => Object.assign(body.uncertainty, { areaCm2 }));
  Object.assign(windowOf(copy, 1), { strengthLeft });
};
const SUPPORT = { shape: 'plate', sizeMm: '1.5', weeks: 6, strengthLeft: '0.7', rate: 'rate', basis: '-' };
/** 4 of 5.652 cm²: of a twelfth of what is drawn it is none. */
const unbounded = (copy: Editable, key: string) => Object.assign(exposed(copy, key).uncertainty, { areaCm2: '4' });

const byTomography = (body: Editable, depthUm: number, uncertainty: Editable) => {
  const { massG: _, ...rest } = body;
  for (const name of Object.keys(body)) delete body[name];
  // mm³ over cm² is ten micrometres.
  Object.assign(body, rest, {
    volumeMm3: { before: '1000', after: (1000 - (depthUm * 5.652) / 10).toFixed(4) },
    uncertainty,
  });
};
/** A current tells a rate, and never decides (ASTM G102; docs/trade.md 8.3). */
const byCurrent = (body: Editable) => {
  delete body.massG;
  body.current = { uAPerCm2: '25', equivalentWeight: '12.1525' };
};
const DEPTHS = [20, 46, 78, 47, 76.6];
const OUT = 'outside its window';
const OPEN = 'not known to hold';

/** What of the lot is changed, and what the check then finds of the first implant. */
const JUDGED: readonly [string, (copy: Editable) => void, string | undefined][] = [
  ['what both cases ask', () => {}, undefined],
  ['more strength than is left', (copy) => Object.assign(windowOf(copy, 1), { strengthLeft: '0.95' }), OUT],
  ['a stiffness that is not left', (copy) => Object.assign(windowOf(copy, 1), { stiffnessLeft: '0.9' }), OUT],
  [
    'more weeks than anything lay in the medium',
    (copy) => Object.assign(windowOf(copy, 1), { holdWeeks: 20, strengthLeft: '0.3' }),
    OPEN,
  ],
  [
    'weeks too many of what failed already',
    (copy) => Object.assign(windowOf(copy, 1), { holdWeeks: 20, strengthLeft: '0.9' }),
    OUT,
  ],
  ['a limit within what is known', (copy) => Object.assign(windowOf(copy, 1), { strengthLeft: '0.82' }), OPEN],
  ['to be gone before it is', (copy) => Object.assign(windowOf(copy, 1), { goneByWeeks: 12 }), OUT],
  [
    'to be gone later than anything lay in the medium',
    (copy) => Object.assign(windowOf(copy, 1), { goneByWeeks: 60 }),
    OPEN,
  ],
  [
    'one specimen of each duration',
    (copy) => ['D', 'E'].map((piece) => copy.exposures.delete(`L-1-W1:${piece}:1`)),
    OPEN,
  ],
  [
    'one duration, longer than asked',
    (copy) => ['A', 'B', 'D'].map((piece) => copy.exposures.delete(`L-1-W1:${piece}:1`)),
    OPEN,
  ],
  ['pits measured on one specimen', (copy) => pieces(copy, (body, index) => index > 0 && delete body.deepestUm), OPEN],
  ['pits that nobody looked for', (copy) => pieces(copy, (body) => delete body.deepestUm), OPEN],
  [
    'pits that only the family states',
    (copy) => {
      pieces(copy, (body) => delete body.deepestUm);
      copy.family.body.support = { ...SUPPORT, localisationFactor: '1.5' };
    },
    undefined,
  ],
  ['weighings of which nobody says how good they are', (copy) => delete exposed(copy, 'W1:B').uncertainty, OPEN],
  [
    'weighings of which nobody says it, beside an area known well',
    (copy) => delete exposed(copy, 'W1:B').uncertainty.massG,
    OPEN,
  ],
  ['poor weighings', (copy) => pieces(copy, (body) => Object.assign(body.uncertainty, { massG: '0.01' })), OPEN],
  [
    'an area known to a seventh, at a limit that first order alone would keep',
    (copy) => rough(copy, '0.8', '0.775'),
    OPEN,
  ],
  [
    'an area known to a seventh, at a limit that the simulation keeps',
    (copy) => rough(copy, '0.8', '0.765'),
    undefined,
  ],
  ['a law that bends, at a limit that first order alone would keep', (copy) => rough(copy, '0.4', '0.797'), OPEN],
  ['an area known to no bound', (copy) => void unbounded(copy, 'W1:B'), OPEN],
  ['an area hardly known', (copy) => pieces(copy, (body) => Object.assign(body.uncertainty, { areaCm2: '2' })), OPEN],
  ['a control outside its range', (copy) => Object.assign(exposed(copy, 'W1:C').control, { value: '0.5' }), OPEN],
  ['faces of two sorts', (copy) => Object.assign(exposed(copy, 'W1:C'), { face: 'milled' }), OPEN],
  ['no study of its class', (copy) => (copy.studies.get('EQ rev 1').body.zoneClasses = ['screw-hole']), OPEN],
  ['a round core', (copy) => (designZone(copy).section = { shape: 'round', sizeMm: '1.5' }), OPEN],
  ['a thick round core', (copy) => (designZone(copy).section = { shape: 'round', sizeMm: '3' }), undefined],
  [
    'a table that ends before its limit',
    (copy) =>
      (designZone(copy).section = {
        shape: 'table',
        rows: [
          { depthUm: '0', areaMm2: '12', sectionModulusMm3: '3', secondMomentMm4: '2.25' },
          { depthUm: '50', areaMm2: '11.2', sectionModulusMm3: '2.6', secondMomentMm4: '1.83' },
        ],
      }),
    OPEN,
  ],
  ['another revision, which is the one that counts', (copy) => newerWindow(copy, '0.95'), OUT],
  [
    'loss that falls from one duration to the next',
    (copy) => pieces(copy, (body, index) => lost(body, [20, 60, 30, 61, 30.4][index]!)),
    OPEN,
  ],
  [
    'loss that slows down to nothing',
    (copy) => pieces(copy, (body, index) => lost(body, [40, 50, 51, 50.4, 50.6][index]!)),
    undefined,
  ],
  [
    'loss in steps that no law follows',
    (copy) => pieces(copy, (body, index) => lost(body, [4, 5, 78, 5.01, 78.1][index]!)),
    undefined,
  ],
  [
    'volumes by tomography',
    (copy) => pieces(copy, (body, index) => byTomography(body, DEPTHS[index]!, { volumeMm3: '0.05', areaCm2: '0.02' })),
    undefined,
  ],
  [
    'volumes hardly known',
    (copy) => pieces(copy, (body, index) => byTomography(body, DEPTHS[index]!, { volumeMm3: '8' })),
    OPEN,
  ],
  [
    'hydrogen, wet, with a blank',
    (copy) =>
      pieces(copy, (body, index) => byHydrogen(body, DEPTHS[index]!, { volumeMl: '0.2', gasC: '0.5', kPa: '0.1' })),
    undefined,
  ],
  [
    'hydrogen of a pressure hardly known',
    (copy) => pieces(copy, (body, index) => byHydrogen(body, DEPTHS[index]!, { kPa: '30' })),
    OPEN,
  ],
  [
    'two builds of coupons',
    (copy) => {
      copy.lot.body.coupons.find(({ coupon }: Editable) => coupon === 'L-1-W2').standsFor.push('L-1-I1');
      const { builds, coupons } = copy.lot.body;
      builds.push({ ...builds[0], build: 'B-L-1-2' });
      coupons.find(({ coupon }: Editable) => coupon === 'L-1-W2').build = 'B-L-1-2';
    },
    undefined,
  ],
  ['its own section, measured thinner than the coupons tell', (copy) => ownSection(copy, '1.2'), OUT],
  ['its own section, thick enough', (copy) => ownSection(copy, '1.45'), undefined],
  [
    'its own section where the design gives a table',
    (copy) => {
      ownSection(copy, '1.45');
      const row = (depthUm: number, left: string) => ({
        ...{ depthUm: String(depthUm), areaMm2: left, sectionModulusMm3: left, secondMomentMm4: left },
      });
      designZone(copy).section = { shape: 'table', rows: [row(0, '12'), row(200, '11'), row(400, '10')] };
    },
    OPEN,
  ],
  [
    'its own section, too thin, with one duration that is longer than asked',
    (copy) => {
      ownSection(copy, '1.2');
      for (const piece of ['A', 'B', 'D']) copy.exposures.delete(`L-1-W1:${piece}:1`);
    },
    OUT,
  ],
];
function ownSection(copy: Editable, minimumSectionMm: string): void {
  copy.exposures.set('L-1-I1:1', {
    ...copy.exposures.get('L-1-W1:A:1'),
    key: 'L-1-I1:1',
    body: { ...exposed(copy, 'W1:B'), specimen: 'L-1-I1', specimenIs: 'implant', minimumSectionMm },
  });
}
const designZone = (copy: Editable): Editable =>
  copy.caseParts.get('K-101-1').pinned.find(({ kind }: Editable) => kind === 'case-design').body.zones[0];
const lost = (body: Editable, depthUm: number) => {
  body.massG.afterCleaning = (1.9234 - depthUm * 1e-4 * 5.652 * 1.84).toFixed(5);
  body.deepestUm = (1.3 * depthUm).toFixed(1);
};
function newerWindow(copy: Editable, strengthLeft: string): void {
  const { pinned } = copy.caseParts.get('K-101-1');
  const old = pinned.find(({ kind }: Editable) => kind === 'support-window');
  pinned.unshift({
    ...old,
    revision: 2,
    body: { ...old.body, revision: 2, zones: [{ ...old.body.zones[0], strengthLeft }] },
  });
}
function byHydrogen(body: Editable, depthUm: number, uncertainty: Editable): void {
  const { massG: _, ...rest } = body;
  for (const name of Object.keys(body)) delete body[name];
  // Moles of a depth: A d D / M; wet at 37 °C and 101 kPa, of which 6.28 are vapour.
  const moles = (depthUm * 1e-4 * 5.652 * 1.84) / 24.305;
  const read = (moles * 8.314462618 * 310.15 * 1000) / (101 - 6.28);
  Object.assign(body, rest, {
    hydrogen: {
      volumeMl: (read + 0.4).toFixed(3),
      blankMl: '0.4',
      gasC: '37',
      kPa: '101',
      gPerMol: '24.305',
      water: 'wet',
    },
    uncertainty,
  });
}

describe('support-window-met', () => {
  let base: Carried;
  beforeAll(() => {
    base = attachedOf(facts, assess(facts, 'test'));
  });
  /** What changes of the attachments: the documents of lot and cases. */
  const carriedOf = ({ dossier, caseParts }: Facts): Carried => {
    const parts = [['dossier.json', dossier], ...[...caseParts].map(([code, part]) => [`case-${code}.json`, part])];
    const files = parts.map(([name, part]) => [name as string, Buffer.from(JSON.stringify(part))] as const);
    return new Carried(new Map([...base.files, ...files]));
  };

  /** By the program, and by the note alone. */
  const judged = (change: (copy: Editable) => void) => {
    const whole = listed(signedFacts(edited(facts, change)));
    const check = runCheck(supportWindowMet, whole);
    const byNote = windowsMet(carriedOf(whole));
    const telling = (all: readonly { rule: string; effect: string; units: readonly string[] }[]) =>
      all.flatMap(({ rule, effect, units }) => units.map((unit) => `${rule} (${effect}): ${unit}`)).sort();
    expect([byNote.applies, telling(byNote.found)]).toEqual([
      check.outcome !== 'does not apply',
      telling(check.findings),
    ]);
    for (const finding of check.findings) {
      const { says, clearedBy } = findingWords(check.code, finding);
      expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object/);
    }
    return check;
  };

  it('does not apply where the specification does not let windows decide', () => {
    const check = judged((copy) => Object.assign(windowOf(copy, 1), { strengthLeft: '0.95' }));
    expect([check.outcome, check.findings]).toEqual(['does not apply', []]);
  });

  it.each(JUDGED)('%s', (_, change, rule) => {
    const check = judged(deciding(change));
    const own = check.findings.filter(({ units }) => units.includes('L-1-I1'));
    expect(own.map((finding) => finding.rule)).toEqual(rule === undefined ? [] : [rule]);
    if (check.findings.length === 0) expect(basisWords(check)).toBe('2 zones of 2 implants');
  });

  it('turns the verdict of the implant, and of no other, and the note says so too', () => {
    const whole = listed(
      signedFacts(
        edited(
          facts,
          deciding((copy) => Object.assign(windowOf(copy, 1), { strengthLeft: '0.95' })),
        ),
      ),
    );
    const assessment = assess(whole, 'test');
    const verdictOf = (serial: string) => assessment.units.find((unit) => unit.serial === serial)!.verdict;
    expect([verdictOf('L-1-I1'), verdictOf('L-1-I2')]).toEqual(['does not conform', 'conforms']);
    const carried = attachedOf(whole, assessment);
    expect(checkAll(carried)).toEqual(statedChecks(carried));
  });

  it.each([
    [
      'a window that nobody signed',
      (copy: Editable) =>
        delete copy.caseParts.get('K-101-1').pinned.find(({ kind }: Editable) => kind === 'support-window').body
          .approval,
      'no approval',
    ],
    [
      'no window at all',
      (copy: Editable) => {
        const part = copy.caseParts.get('K-101-1');
        part.pinned = part.pinned.filter(({ kind }: Editable) => kind !== 'support-window');
      },
      'no window stated',
    ],
  ])('cannot be decided with %s', (_, change, rule) => {
    const check = judged(deciding(change));
    expect(check).toMatchObject({ outcome: 'cannot be decided', findings: [{ rule, units: ['L-1-I1'] }] });
    expect(findingWords(check.code, check.findings[0]!).says).toContain('K-101-1');
  });
});
