import { assess } from '../../src/assessment/assess.js';
import { runCheck } from '../../src/assessment/checks/check.js';
import { shapeWithinProfile, zonesByDesign } from '../../src/assessment/checks/shape-within-profile.js';
import { ownValues } from '../../src/assessment/own-history.js';
import { finalShapes } from '../../src/assessment/shapes.js';
import type { Facts } from '../../src/dossier/facts.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { notChecked } from '../../src/report/not-checked.js';
import { shapeTables } from '../../src/report/shape-rows.js';
import { Carried } from '../support/by-note/carried.js';
import { shapesWithin } from '../support/by-note/shapes.js';
import { addDesigns } from '../support/documents/designs.js';
import { addShapes } from '../support/documents/shapes.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf } from '../support/note-files.js';
import { extentOf, marksOf, textsOf } from '../support/scenes.js';

let facts: Facts;
let base: Carried;
beforeAll(async () => {
  facts = await factsOf((cell) => {
    addDesigns(cell);
    // The second is too thick all over.
    addShapes(cell, (n) => (index) => (n === 2 ? 0.08 : ((index % 5) - 2) * 0.01));
  });
  base = attachedOf(facts, assess(facts, 'test'));
});

const shapeOf = (copy: Editable, n: number): Editable =>
  copy.caseParts.get(`K-101-${n}`).pinned.find(({ kind }: Editable) => kind === 'shape-deviation').body;
const rowOf = (copy: Editable, characteristic: string): Editable =>
  copy.results.find((row: Editable) => row.characteristic === characteristic && row.specimen === 'L-1-I1');
/** The specification asks for no shape, and there are no values of it. */
const unspecified = (copy: Editable): void => {
  const { body } = copy.specification;
  body.characteristics = body.characteristics.filter(({ source }: Editable) => source !== 'shape');
  copy.results = copy.results.filter(({ characteristic }: Editable) => !/^shape-/.test(characteristic));
};

/** By the program, and by the note alone. */
function judged(change: (copy: Editable) => void = () => {}) {
  const whole = edited(facts, change);
  const check = runCheck(shapeWithinProfile, whole);
  const table = attachedOf(whole, assess(facts, 'test')).files.get('results.csv')!;
  const pinned = whole.dossier.pinned.map((one) =>
    one.kind === 'specification' ? whole.specification : one.kind === 'lot' ? { ...one, body: whole.lot.body } : one,
  );
  const files = new Map([
    ...base.files,
    ['results.csv', table],
    ['dossier.json', Buffer.from(JSON.stringify({ ...whole.dossier, pinned }))],
    ...[...whole.caseParts].map(([code, part]) => [`case-${code}.json`, Buffer.from(JSON.stringify(part))] as const),
  ]);
  const byNote = shapesWithin(new Carried(files));
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
}

it('has values of both kinds for each implant, with the uncertainty of the scanner, and judges them by the guarded rule', () => {
  const of = (specimen: string) =>
    Object.fromEntries(
      facts.results
        .filter((row) => row.specimen === specimen && /^shape-/.test(row.characteristic))
        .map(({ characteristic, value, ucum, standardUncertainty }) => [
          characteristic,
          [value, ucum, standardUncertainty],
        ]),
    );
  expect(of('L-1-I1')).toEqual({ 'shape-share': ['0', '%', '0'], 'shape-worst': ['20', 'um', '4'] });
  expect(of('L-1-I2')['shape-worst']).toEqual(['80', 'um', '4']);
  expect(Number(of('L-1-I2')['shape-share']![0])).toBeGreaterThan(90);
  const { units } = assess(facts, 'test');
  expect(units.find(({ serial }) => serial === 'L-1-I2')!.verdict).toBe('does not conform');
});

it('passes where values are as measured, and says of how many scans', () => {
  const check = judged();
  expect([check.outcome, check.findings]).toEqual(['passes', []]);
  expect(basisWords(check)).toBe('2 scans of finished implants, 4 values computed again');
});

it('does not apply without scans and without a shape that is asked', () => {
  const check = judged((copy) => {
    unspecified(copy);
    copy.lot.body.scans = [];
    for (const n of [1, 2]) {
      const { pinned } = copy.caseParts.get(`K-101-${n}`);
      const design = pinned.find(({ kind }: Editable) => kind === 'case-design').body;
      for (const zone of design.zones) delete zone.profileMm;
    }
  });
  expect(check.outcome).toBe('does not apply');
});

it('takes a scan that showed too little for mended by a later one that shows it, and never what lies outside', () => {
  const again = (change: (shape: Editable) => void) =>
    judged((copy) => {
      unspecified(copy);
      copy.lot.body.scans = copy.lot.body.scans.filter(({ specimen }: Editable) => specimen === 'L-1-I1');
      copy.lot.body.scans.push({ ...copy.lot.body.scans[0], scan: 'again', at: '2031-11-30T10:00:00+01:00' });
      const { pinned } = copy.caseParts.get('K-101-1');
      const first = pinned.find(({ kind }: Editable) => kind === 'shape-deviation');
      pinned.push({ ...structuredClone(first), key: 'L-1-I1:again' });
      change(first.body);
    }).findings.filter(({ units }) => units.includes('L-1-I1'));
  const of = (change: (shape: Editable) => void) => again(change).map(({ rule }) => rule);
  const withoutDatums = (shape: Editable) => {
    shape.judged = 'least squares';
    delete shape.leastSquares;
  };
  expect(of(withoutDatums)).toEqual([]);
  expect(of((shape) => shape.asGiven.zones.shift())).toEqual([]);
  expect(of((shape) => Object.assign(shape.asGiven.zones[0], { scannedShare: 0.2 }))).toEqual([]);
  expect(of((shape) => Object.assign(shape.asGiven.zones[0], { outside: 3, outsideSurely: 1 }))).toEqual([
    'outside its profile',
  ]);
});

it.each<[name: string, change: (copy: Editable) => void, rules: readonly string[]]>([
  [
    'a value that is another',
    (copy) => Object.assign(rowOf(copy, 'shape-worst'), { value: '19' }),
    ['value not as measured'],
  ],
  [
    'another uncertainty',
    (copy) => Object.assign(rowOf(copy, 'shape-worst'), { standardUncertainty: '1' }),
    ['value not as measured'],
  ],
  ['a value of no scan', (copy) => Object.assign(rowOf(copy, 'shape-worst'), { replicate: '7' }), ['no scan']],
  [
    'a model that is open',
    (copy) => shapeOf(copy, 1).mesh.findings.push({ fault: 'open edge', count: 2, triangle: 1, at: [0, 0, 0] }),
    ['model not sound'],
  ],
  [
    'points that lie nowhere',
    (copy) => Object.assign(shapeOf(copy, 1).asGiven, { unreached: 3 }),
    ['points without surface'],
  ],
  [
    'datums that were not scanned',
    (copy) => {
      const shape = shapeOf(copy, 1);
      shape.judged = 'least squares';
      delete shape.leastSquares;
    },
    // Values that came of it are of no scan any more.
    ['datums not scanned', 'no scan', 'no scan'],
  ],
  [
    'a fit that could not be made, of a scan that lies outside as given: nothing of it is judged',
    (copy) => {
      unspecified(copy);
      const shape = shapeOf(copy, 1);
      shape.judged = 'least squares';
      delete shape.leastSquares;
      Object.assign(shape.asGiven.zones[0], { outside: 3, outsideSurely: 1 });
    },
    ['datums not scanned'],
  ],
  [
    'a scan as given that shows nothing of a datum',
    (copy) => {
      unspecified(copy);
      const shape = shapeOf(copy, 1);
      shape.zones.find(({ zone }: Editable) => zone === 'end').isDatum = true;
      shape.asGiven.zones = shape.asGiven.zones.filter(({ zone }: Editable) => zone === 'span');
    },
    ['datums not scanned'],
  ],
  [
    'a zone that was not scanned',
    (copy) => {
      shapeOf(copy, 1).asGiven.zones = shapeOf(copy, 1).asGiven.zones.filter(({ zone }: Editable) => zone === 'span');
    },
    ['zone not scanned'],
  ],
  [
    'a scan that nobody measured',
    (copy) => {
      const part = copy.caseParts.get('K-101-1');
      part.pinned = part.pinned.filter(({ kind }: Editable) => kind !== 'shape-deviation');
      copy.results = copy.results.filter(
        (row: Editable) => !/^shape-/.test(row.characteristic) || row.specimen !== 'L-1-I1',
      );
    },
    ['scan not measured'],
  ],
  [
    'a scanner whose calibration had run out, where no value tells of it',
    (copy) => {
      unspecified(copy);
      const pinned = copy.dossier.pinned.find(({ kind, key }: Editable) => kind === 'instrument' && key === 'I-MIC');
      for (const { body } of [pinned, copy.instruments.get('I-MIC')])
        body.calibrations[0].due = '2031-02-01T00:00:00+01:00';
    },
    ['overdue at use'],
  ],
  [
    'an implant that nobody scanned as a finished part, beside one that was',
    (copy) => {
      unspecified(copy);
      copy.lot.body.scans[0].when = 'after';
    },
    ['implant not scanned'],
  ],
  [
    'nothing to scan in an implant that is scrapped',
    (copy) => {
      unspecified(copy);
      copy.lot.body.scans.shift();
      copy.lot.body.fates = [{ part: 'L-1-I1', as: 'scrapped', at: copy.lot.body.builds[0].closedAt, by: 'P-OP' }];
    },
    [],
  ],
  [
    'a scanner whose calibration had run out, where the scan alone gives no value',
    (copy) => {
      copy.results = copy.results.filter(
        (row: Editable) => !/^shape-/.test(row.characteristic) || row.specimen !== 'L-1-I1',
      );
      const pinned = copy.dossier.pinned.find(({ kind, key }: Editable) => kind === 'instrument' && key === 'I-MIC');
      for (const { body } of [pinned, copy.instruments.get('I-MIC')])
        body.calibrations[0].due = '2031-02-01T00:00:00+01:00';
    },
    ['overdue at use'],
  ],
  [
    'a zone beyond its profile where the specification asks for a distance and for no share',
    (copy) => {
      const { body } = copy.specification;
      body.characteristics = body.characteristics.filter(
        ({ characteristic }: Editable) => characteristic !== 'shape-share',
      );
      copy.results = copy.results.filter(({ characteristic }: Editable) => characteristic !== 'shape-share');
      Object.assign(shapeOf(copy, 1).asGiven.zones[0], { outside: 3, outsideSurely: 1 });
    },
    ['outside its profile'],
  ],
  [
    'a zone of which few places were scanned',
    (copy) => Object.assign(shapeOf(copy, 1).asGiven.zones[0], { scannedShare: 0.49 }),
    ['zone barely scanned'],
  ],
  [
    'a zone in its profile by a scan that states no uncertainty',
    (copy) => {
      unspecified(copy);
      for (const zone of shapeOf(copy, 1).asGiven.zones) {
        delete zone.outsidePerhaps;
        delete zone.outsideSurely;
      }
    },
    ['uncertainty not stated', 'uncertainty not stated'],
  ],
  [
    'a zone beyond the scanner, without a share that is allowed',
    (copy) => {
      unspecified(copy);
      Object.assign(shapeOf(copy, 1).asGiven.zones[0], { outside: 3, outsidePerhaps: 9, outsideSurely: 1 });
    },
    ['outside its profile'],
  ],
  [
    'a zone within what the scanner is sure of',
    (copy) => {
      unspecified(copy);
      Object.assign(shapeOf(copy, 1).asGiven.zones[0], { outside: 3, outsidePerhaps: 9, outsideSurely: 0 });
    },
    ['not known to lie in its profile'],
  ],
])('finds %s', (_name, change, rules) => {
  const found = judged(change).findings.filter(({ units }) => units.includes('L-1-I1'));
  expect(found.map(({ rule }) => rule)).toEqual(rules);
});

it('is told as not checked where one finished implant was not scanned', () => {
  const told = (change: (copy: Editable) => void) => notChecked(edited(facts, change)).includes('shape');
  expect(told(() => {})).toBe(false);
  expect(told((copy) => copy.lot.body.scans.shift())).toBe(true);
});

it('knows the zones whose profile the design alone asks for', () => {
  const zones = (change: (copy: Editable) => void = () => {}) => {
    const whole = edited(facts, change);
    return finalShapes(whole).map((of) => [...zonesByDesign(whole, of)]);
  };
  expect(zones()).toEqual([['end'], ['end']]);
  expect(zones(unspecified)).toEqual([
    ['span', 'end'],
    ['span', 'end'],
  ]);
});

it('never turns outside into inside by more uncertainty', () => {
  for (const [outsidePerhaps, outsideSurely, rule] of [
    [5, 5, 'outside its profile'],
    [9, 1, 'outside its profile'],
    [20, 0, 'not known to lie in its profile'],
  ] as const) {
    const check = judged((copy) => {
      unspecified(copy);
      Object.assign(shapeOf(copy, 1).asGiven.zones[0], { outside: 5, outsidePerhaps, outsideSurely });
    });
    expect(check.findings.map((one) => one.rule)).toContain(rule);
  }
});

it('keeps what is of one case in its part: nothing of a shape stands in the lot file or in another case', () => {
  expect(facts.dossier.pinned.some(({ kind }) => kind === 'shape-deviation')).toBe(false);
  for (const n of [1, 2]) {
    const { pinned, evidence } = facts.caseParts.get(`K-101-${n}`)!;
    expect(pinned.filter(({ kind }) => kind === 'shape-deviation').map(({ key }) => key)).toEqual([`L-1-I${n}:end`]);
    expect(evidence.map(({ fileName }) => fileName)).toContain(`I${n}.ply`);
  }
});

describe('the pictures from three sides', () => {
  const figures = () => shapeTables(facts).map(({ figure }) => figure!);
  /** How light a shade is: a grey printer shows no more. */
  const light = (shade: string) =>
    [1, 3, 5].reduce((sum, at, k) => sum + [0.299, 0.587, 0.114][k]! * Number.parseInt(shade.slice(at, at + 2), 16), 0);

  it('mark the worst point and tell it in words, with the zone in which it lies', () => {
    const [first, second] = figures();
    expect(textsOf(second!.scene).join(' ')).toMatch(/Worst point, in the ring: 0\.080 mm outside at x .*zone span/);
    expect(marksOf(first!.scene, 'circle')).toHaveLength(6);
    expect(second!.alt).toContain('0.080 mm outside');
  });

  it('have one shade for each step, darker step by step, and show the side by the shape of a square', () => {
    const [first, second] = figures().map(({ scene }) => marksOf(scene, 'rect').filter(({ fill }) => fill));
    const shades = [...new Set(first!.map(({ fill }) => fill!))].map(light);
    expect(shades.length).toBeGreaterThanOrEqual(4);
    const key = first!.slice(-7, -2).map(({ fill }) => light(fill!));
    expect(key).toEqual([...key].sort((a, b) => b - a));
    expect(Math.min(...key.slice(1).map((value, k) => key[k]! - value))).toBeGreaterThan(15);
    // All of the second lies outside: no bar but that of the key.
    const heights = (marks: typeof first) => new Set(marks!.map(({ h }) => Number(h.toFixed(3))));
    expect(heights(first).size).toBeGreaterThan(heights(second).size);
    // Of what lies so near that its side tells nothing no bar is drawn.
    const lightest = first!.slice(0, -7).filter(({ fill }) => fill === first!.at(-7)!.fill);
    expect(new Set(lightest.map(({ h }) => h.toFixed(3))).size).toBe(1);
  });

  it('keep within the frame of the page, whatever the words', () => {
    for (const { scene } of figures()) {
      for (const mark of scene.marks) {
        const { left, right, top, bottom } = extentOf(mark);
        expect(left >= -1 && right <= scene.width + 1 && top >= -1 && bottom <= scene.height + 1).toBe(true);
      }
    }
  });

  it('stand beside a table of zones, with both alignments and the matrix of the fit', () => {
    const [first] = shapeTables(facts);
    expect(first!.rows.map(([zone, profile, , , share]) => [zone, profile, share])).toEqual([
      ['span', '± 0.05', '0.00 %'],
      ['end', '± 0.1', '0.00 %'],
    ]);
    expect(first!.notes.join(' ')).toMatch(
      /judged as given; beside it by least squares, which leaves 0\.0\d+ mm.*Matrix of the fit/,
    );
  });
});

it('goes into the history of the family under its class of zones, so that trends keep classes apart', () => {
  const own = ownValues(facts).filter(({ item }) => item.source === 'shape');
  expect(own.map(({ item, context, values }) => [item.characteristic, context.zoneClass, values.length])).toEqual([
    ['shape-share', 'load-bearing', 2],
    ['shape-worst', 'load-bearing', 2],
  ]);
});
