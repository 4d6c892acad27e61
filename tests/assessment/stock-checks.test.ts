import { assess } from '../../src/assessment/assess.js';
import type { Facts } from '../../src/dossier/facts.js';
import { stockPartSubject } from '../../src/dossier/signable.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { changeTables, shapeTables } from '../../src/report/shape-rows.js';
import { stockRows } from '../../src/report/stock-rows.js';
import { CHECKS_OF_STOCK } from '../support/by-note/checks-of-stock.js';
import { shapesWithin } from '../support/by-note/shapes.js';
import { addStock } from '../support/documents/stock.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf, listed } from '../support/note-files.js';
import { signedFacts, statement } from '../support/signed-facts.js';

/** Common practice of the trade, as docs/trade.md has it; each rule by the note for strangers too. */

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => addStock(cell), '2031-12-01T12:00:00Z');
});

const CODES = ['stock-part-accepted', 'stock-kept', 'interface-tested', 'shape-within-profile'] as const;
const [OPEN, FAILS, BLOCKS] = ['cannot be decided', 'does not conform', 'blocks release'] as const;

/** What the checks find of the first implant, by the program; what the note gives of all is held against it. */
function found(change: (copy: Editable) => void = () => {}, sign = (all: Facts) => signedFacts(all)) {
  const whole = listed(sign(edited(facts, change)));
  const said = assess(whole, 'test');
  const carried = attachedOf(whole, said);
  return CODES.flatMap((code) => {
    const check = said.checks.find((one) => one.code === code)!;
    const byNote = code === 'shape-within-profile' ? shapesWithin(carried) : CHECKS_OF_STOCK[code]!(carried, []);
    const telling = (all: readonly { rule: string; effect: string; units: readonly string[] }[]) =>
      all.flatMap(({ rule, effect, units }) => units.map((unit) => `${rule} (${effect}): ${unit}`)).sort();
    expect([code, byNote.applies, telling(byNote.found)]).toEqual([
      code,
      check.outcome !== 'does not apply',
      telling(check.findings),
    ]);
    for (const finding of check.findings) {
      const { says, clearedBy } = findingWords(code, finding);
      expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object/);
      expect(says).toMatch(/\.$/);
    }
    return check.findings
      .filter(({ units }) => units.includes('L-1-I1'))
      .map(({ rule, effect }) => `${code}: ${rule} (${effect})`);
  });
}

const stockOf = (copy: Editable, code = 'B-1'): Editable => copy.stockParts.get(code).body;
const pinnedOf = (copy: Editable, kind: string): Editable =>
  copy.caseParts.get('K-101-1').pinned.find((one: Editable) => one.kind === kind);
const wasImplant = (copy: Editable, events: readonly Editable[] = [], fate: Editable = { as: 'stock part' }) => {
  const stock = stockOf(copy);
  delete stock.receipt;
  Object.assign(stock, { implant: 'L-0-I9', why: 'a boss was milled away (invented)' });
  copy.stock.origins.push({
    ...{
      stockPart: 'B-1',
      implant: 'L-0-I9',
      lot: 'L-0',
      builds: ['M1-77'],
      receipts: ['R-0'],
      heats: ['S:H0'],
      events,
    },
    ...(fate ? { fate: { at: '2031-02-01T08:00:00+01:00', by: 'P-QE', ...fate } } : {}),
  });
};
const handed = { kind: 'handover', key: 'HO-1', what: 'handed over', at: '2031-01-20T08:00:00+01:00' };
const implanted = { kind: 'outcome', key: 'L-0-I9:1', what: 'implanted', at: '2031-01-21' };

it('passes where stock was accepted, made ready in time, built on once, tested and unchanged, and says so', () => {
  expect(found()).toEqual([]);
  const { checks } = assess(signedFacts(facts), 'test');
  const of = (code: string) => checks.find((one) => one.code === code)!;
  expect(CODES.map((code) => of(code).outcome)).toEqual(['passes', 'passes', 'passes', 'passes']);
  expect(basisWords(of('stock-part-accepted'))).toBe('L-1-I1 on B-1, L-1-I2 on B-2');
  expect(basisWords(of('stock-kept'))).toBe('2 comparisons before and after, at most 0.05 mm');
  expect(basisWords(of('interface-tested'))).toMatch(/^L-1-I1, L-1-I2 by rm; hardness profile not measured: /);
  expect(of('material-accepted').basis.receipts).toContain('R-BAR');
});

it('does not apply to a lot that was built on nothing', () => {
  const onNothing = edited(facts, ({ lot }) => {
    for (const part of [...lot.body.implants, ...lot.body.coupons]) delete part.builtOn;
  });
  const { checks } = assess(signedFacts(onNothing), 'test');
  const outcomes = CODES.slice(0, 3).map((code) => checks.find((one) => one.code === code)!);
  expect(outcomes.map(({ outcome }) => outcome)).toEqual(Array(3).fill('does not apply'));
  for (const check of outcomes) expect(basisWords(check).length).toBeGreaterThan(10);
});

it.each<[name: string, change: (copy: Editable) => void, told: readonly string[]]>([
  ['nobody accepted it', (copy) => delete stockOf(copy).acceptance, [`stock-part-accepted: no approval (${OPEN})`]],
  ['it was an implant that its lot gave up', (copy) => wasImplant(copy), []],
  [
    'it had left the cell, though it came back',
    (copy) => wasImplant(copy, [handed]),
    [`stock-part-accepted: left the cell (${FAILS})`],
  ],
  [
    'it was in a patient',
    (copy) => wasImplant(copy, [handed, implanted]),
    [`stock-part-accepted: was implanted (${FAILS})`],
  ],
  [
    'it was built on an implant that was in a patient',
    (copy) => {
      wasImplant(copy);
      const [origin] = copy.stock.origins;
      origin.builtOn = { stockPart: 'B-8', material: 'mg-bar' };
      const deeper = { stockPart: 'B-8', implant: 'L-0-I8', events: [handed, implanted], builtOn: undefined };
      copy.stock.origins.push({ ...origin, ...deeper });
    },
    [`stock-part-accepted: was implanted (${FAILS})`],
  ],
  [
    'its story is not there',
    (copy) => {
      wasImplant(copy);
      copy.stock.origins = [];
    },
    [`stock-part-accepted: not given up (${OPEN})`],
  ],
  ['its lot says nothing of it', (copy) => wasImplant(copy, [], null), [`stock-part-accepted: not given up (${OPEN})`]],
  [
    'something else was built on it before',
    ({ stock }) => {
      const use = stock.uses.find(({ part }: Editable) => part === 'L-1-I1');
      stock.uses.unshift({ ...use, part: 'L-0-I8', lot: 'L-0', closedAt: '2031-02-25T06:00:00+01:00' });
    },
    [`stock-part-accepted: built on twice (${FAILS})`],
  ],
  [
    'that was taken off again',
    (copy) => {
      const use = copy.stock.uses.find(({ part }: Editable) => part === 'L-1-I1');
      copy.stock.uses.unshift({ ...use, part: 'L-0-I8', lot: 'L-0', closedAt: '2030-12-25T06:00:00+01:00' });
      const off = { implant: 'L-0-I8', at: '2030-12-26T06:00:00+01:00', by: 'P-OP', how: 'milled off (invented)' };
      stockOf(copy).takenOff = [off];
    },
    [],
  ],
  [
    'metal was taken off after its face was made ready, and after it was accepted',
    (copy) => {
      const off = { implant: 'L-0-I8', at: '2031-03-02T18:00:00+01:00', by: 'P-OP', how: 'milled off (invented)' };
      stockOf(copy).takenOff = [off];
    },
    [
      `stock-part-accepted: accepted before metal was taken off (${OPEN})`,
      `stock-part-accepted: face made ready before metal was taken off (${OPEN})`,
    ],
  ],
  [
    'its face was made ready before the build that finished it, and after the one that was interrupted',
    ({ lot }) => {
      const [build] = lot.body.builds;
      const first = { closedAt: '2031-03-02T12:00:00+01:00', openedAt: '2031-03-02T13:00:00+01:00' };
      lot.body.builds.push({ ...structuredClone(build), build: 'M1-100', run: 100, ...first });
      build.continues = { build: 'M1-100', fromLayer: 2 };
    },
    // Its first scan is of the same morning: after metal was laid on it too.
    [
      `stock-part-accepted: face made ready after the build (${OPEN})`,
      `stock-kept: not scanned before and after (${OPEN})`,
    ],
  ],
  ...(['scrap', 'return', 'destroyed'] as const).map((what): [string, (copy: Editable) => void, string[]] => [
    `it was an implant of which somebody decided ${what}`,
    (copy) => wasImplant(copy, [{ kind: 'nonconformity', key: 'NC-1', what, at: '2031-01-20T08:00:00+01:00' }]),
    [`stock-part-accepted: not to be built on (${FAILS})`],
  ]),
  [
    'it was an implant with a nonconformity that nobody decided on',
    (copy) =>
      wasImplant(copy, [{ kind: 'nonconformity', key: 'NC-1', what: 'not decided', at: '2031-01-20T08:00:00+01:00' }]),
    [`stock-part-accepted: left open (${OPEN})`],
  ],
  [
    'its receipt is of another material',
    (copy) => Object.assign(copy.receipts.get('R-BAR').body, { material: 'mg-powder' }),
    [`stock-part-accepted: receipt of another material (${OPEN})`],
  ],
  [
    'its material has no limits',
    ({ specification: { body } }) => {
      body.materials = body.materials.filter(({ material }: Editable) => material !== 'mg-bar');
    },
    [`stock-part-accepted: material without limits (${OPEN})`],
  ],
  [
    'lines of its own lie outside the limits, or cannot be held against them',
    (copy) => {
      stockOf(copy).lines = [
        { property: 'Zn', value: '0.60', ucum: '%' },
        { property: 'Fe', value: '60', ucum: 'mm' },
        { property: 'Cu', value: '900', ucum: '[ppm]' },
      ];
    },
    [`stock-part-accepted: outside limits (${FAILS})`, `stock-part-accepted: not decidable (${OPEN})`],
  ],
  [
    'nobody made its face ready',
    (copy) => delete stockOf(copy).interface.prepared,
    [`stock-part-accepted: face not made ready (${OPEN})`],
  ],
  [
    'its face was made ready afterwards',
    (copy) => Object.assign(stockOf(copy).interface.prepared[0], { at: '2031-03-04T08:00:00+01:00' }),
    [`stock-part-accepted: face made ready after the build (${OPEN})`],
  ],
  [
    'its face lay for three days',
    (copy) => Object.assign(stockOf(copy).interface.prepared[0], { at: '2031-02-28T05:00:00+01:00' }),
    [`stock-part-accepted: face lay too long (${OPEN})`],
  ],
  [
    'it names another zone',
    (copy) => Object.assign(stockOf(copy).interface, { zone: 'hole' }),
    [
      `stock-part-accepted: zone not built (${OPEN})`,
      // The characteristic is of the class of the zone that it has.
      `interface-tested: of another zone (${OPEN})`,
    ],
  ],
  [
    'the specification does not speak of stock',
    ({ specification }) => delete specification.body.builtOnStock,
    [1, 2, 3].map(() => `interface-tested: nothing tells of it (${OPEN})`),
  ],
  [
    'its coupon was built on nothing',
    ({ lot }) => {
      for (const coupon of lot.body.coupons) delete coupon.builtOn;
    },
    [`interface-tested: coupon on no stock (${OPEN})`],
  ],
  [
    'the coupon of another implant of its build speaks for it by the plan, and was built on nothing',
    ({ lot, specification }) => {
      const item = specification.body.characteristics.find(({ characteristic }: Editable) => characteristic === 'rm');
      item.plan = { rule: 'zero-acceptance', of: 'lot', confidence: '0.95', reliability: '0.9' };
      delete lot.body.coupons.find(({ standsFor }: Editable) => standsFor.includes('L-1-I2')).builtOn;
    },
    [`interface-tested: coupon on no stock (${OPEN})`],
  ],
  [
    'no coupon stands for it',
    ({ lot }) => {
      for (const coupon of lot.body.coupons) coupon.standsFor = ['L-1-I2'];
    },
    [`interface-tested: no coupon tells of it (${OPEN})`],
  ],
  [
    'its coupon was built on a face made ready in another way',
    (copy) => Object.assign(stockOf(copy, 'B-3').interface, { preparation: 'as sawn' }),
    [`interface-tested: coupon on other stock (${OPEN})`],
  ],
  [
    'it was never scanned',
    ({ lot }) => {
      lot.body.scans = lot.body.scans.filter(({ when }: Editable) => when === 'final');
    },
    [`stock-kept: not scanned before and after (${OPEN})`],
  ],
  [
    'its scans were not compared',
    (copy) => Object.assign(pinnedOf(copy, 'shape-change'), { key: 'L-1-I1:other' }),
    [`stock-kept: change not measured (${OPEN})`],
  ],
  [
    'both scans show little of it',
    (copy) => Object.assign(pinnedOf(copy, 'shape-change').body, { comparedShare: 0.59 }),
    [`stock-kept: barely compared (${OPEN})`],
  ],
  [
    'the scan after shows nothing of a place that the one before shows',
    (copy) => Object.assign(pinnedOf(copy, 'shape-change').body, { lostShare: 0.004 }),
    [`stock-kept: stock not found again (${OPEN})`],
  ],
  [
    'it shows nothing of such a place, and nobody limits a change',
    (copy) => {
      delete copy.specification.body.builtOnStock.mostChangeMm;
      Object.assign(pinnedOf(copy, 'shape-change').body, { lostShare: 0.004 });
    },
    [],
  ],
  [
    'both scans show as much of it as is asked, to the one decimal that is told',
    (copy) => {
      copy.specification.body.shape.leastScannedPercent = '58';
      Object.assign(pinnedOf(copy, 'shape-change').body, { comparedShare: 0.58 });
    },
    [],
  ],
  [
    'nothing of it could be compared, however little is asked',
    (copy) => {
      copy.specification.body.shape.leastScannedPercent = '1';
      const { body } = pinnedOf(copy, 'shape-change');
      delete body.change;
      body.comparedShare = 0;
    },
    [`stock-kept: nothing compared (${OPEN})`],
  ],
  [
    'the scan before was made after the chamber had closed',
    ({ lot }) => {
      lot.body.scans.find(({ scan }: Editable) => scan === 'bare').at = lot.body.builds[0].openedAt;
    },
    [`stock-kept: not scanned before and after (${OPEN})`],
  ],
  [
    'the scan after was made before the chamber opened',
    ({ lot }) => {
      lot.body.scans.find(({ scan }: Editable) => scan === 'built').at = lot.body.builds[0].closedAt;
    },
    [`stock-kept: not scanned before and after (${OPEN})`],
  ],
  ...[{ stockPart: 'B-7' }, { iteration: 9 }, { before: { scan: 'other' } }].map(
    (other): [string, (copy: Editable) => void, string[]] => [
      `its scans were compared of what was there once (${Object.keys(other)[0]})`,
      (copy) =>
        Object.assign(pinnedOf(copy, 'shape-change').body, {
          ...other,
          ...(other.before ? { before: { ...pinnedOf(copy, 'shape-change').body.before, ...other.before } } : {}),
        }),
      [`stock-kept: change not measured (${OPEN})`],
    ],
  ),
  [
    'its shape was measured with another stock part',
    (copy) => Object.assign(pinnedOf(copy, 'shape-deviation').body.stock, { stockPart: 'B-7' }),
    ['shape-within-profile: scan not measured (cannot be decided)'],
  ],
  [
    'its shape was measured before anybody said that it is on stock',
    (copy) => delete pinnedOf(copy, 'shape-deviation').body.stock,
    ['shape-within-profile: scan not measured (cannot be decided)'],
  ],
  [
    'it lies elsewhere than before',
    (copy) => Object.assign(pinnedOf(copy, 'shape-change').body.change.worst, { changeMm: -0.07 }),
    [`stock-kept: stock changed (${FAILS})`],
  ],
  [
    'it lies elsewhere as far as the scans can tell',
    (copy) => Object.assign(pinnedOf(copy, 'shape-change').body.change.worst, { changeMm: 0.055 }),
    [`stock-kept: not known to be as before (${OPEN})`],
  ],
  [
    'nobody knows how sure the scans are',
    (copy) => delete pinnedOf(copy, 'shape-change').body.uncertaintyMm,
    [`stock-kept: uncertainty not stated (${OPEN})`],
  ],
  [
    'the stock lies outside the profile of its zone, and what was built does not',
    (copy) => {
      const { stock } = pinnedOf(copy, 'shape-deviation').body.asGiven;
      Object.assign(
        stock.find(({ zone }: Editable) => zone === 'rest'),
        { outside: 3, outsideSurely: 2 },
      );
    },
    [`shape-within-profile: outside its profile (${FAILS})`],
  ],
  [
    'nothing of the stock in a zone was scanned',
    (copy) => {
      const { asGiven } = pinnedOf(copy, 'shape-deviation').body;
      asGiven.stock = asGiven.stock.filter(({ zone }: Editable) => zone !== 'rest');
    },
    [`shape-within-profile: zone not scanned (${OPEN})`],
  ],
  [
    'less of a zone was scanned than the specification asks',
    (copy) => Object.assign(pinnedOf(copy, 'shape-deviation').body.asGiven.zones[0], { scannedShare: 0.55 }),
    [`shape-within-profile: zone barely scanned (${OPEN})`],
  ],
])('is kept back where %s', (_name, change, told) => {
  expect(found(change)).toEqual(told);
});

it('counts an acceptance that was signed after the build as one that people decide on', () => {
  const late = (all: Facts): Facts => {
    const whole = signedFacts(all);
    const subject = stockPartSubject(all.stockParts.get('B-1')!.body);
    const others = whole.signatures.filter(({ statement: { subjects } }) => subjects[0]!.digest !== subject.digest);
    const signatures = [...others, statement('approved', subject, 'P-QE', { at: '2031-03-05T08:00:00.000Z' })];
    return { ...whole, signatures, dossier: { ...whole.dossier, signatures } };
  };
  expect(found(() => {}, late)).toEqual([`stock-part-accepted: accepted after the build (${BLOCKS})`]);
});

it('keeps an acceptance when the face is made ready once more, and not when metal was taken off, its mesh has other bytes, or it is another part', () => {
  const digest = (change: (stock: Editable) => void) => {
    const copy = edited(facts, (all) => change(stockOf(all)));
    return stockPartSubject(copy.stockParts.get('B-1')!.body).digest;
  };
  const was = digest(() => {});
  expect(digest((stock) => stock.interface.prepared.push({ by: 'P-OP', at: '2031-06-01T08:00:00+02:00' }))).toBe(was);
  const off = { implant: 'L-0-I8', at: '2031-02-26T06:00:00+01:00', by: 'P-OP', how: 'milled off (invented)' };
  for (const change of [
    (stock: Editable) => Object.assign(stock, { takenOff: [off] }),
    (stock: Editable) => Object.assign(stock.mesh, { sha256: '0'.repeat(64) }),
    (stock: Editable) => Object.assign(stock, { material: 'mg-other' }),
    (stock: Editable) => Object.assign(stock, { receipt: 'R-OTHER' }),
    (stock: Editable) => Object.assign(stock.interface, { preparation: 'as sawn' }),
  ])
    expect(digest(change)).not.toBe(was);
});

it('tells what no scanner sees, by the rule of the specification, and lets less of that class be scanned', () => {
  const seen = (change: (copy: Editable) => void) => {
    const copy = edited(facts, (all) => {
      // Zone "end" gets the name of the zone that was built, so that the recipe knows its class.
      const { body } = pinnedOf(all, 'shape-deviation');
      for (const list of [body.zones, body.asGiven.zones, body.asGiven.stock])
        for (const one of list) if (one.zone === 'end') one.zone = 'span';
      body.asGiven.zones[0].scannedShare = 0.35;
      change(all);
    });
    const { checks } = assess(signedFacts(copy), 'test');
    const rules = checks.find(({ code }) => code === 'shape-within-profile')!.findings;
    return [rules.map(({ rule }) => rule), shapeTables(copy)[0]!.notes.join(' ')] as const;
  };
  const [class_] = [...facts.recipes.values()].flatMap(({ body }) => body.zones.map((zone) => zone.class));
  const [rules, notes] = seen(() => {});
  expect(rules).toEqual(['zone barely scanned']);
  expect(notes).toContain('Of each zone the specification asks for points on 60 % of its surface.');
  const unseen = [
    { zoneClass: class_, leastScannedPercent: '30', why: 'it lies in a pocket (invented)', shownBy: 'rm' },
  ];
  const [allowed, told] = seen(({ specification }) => {
    specification.body.shape.unseen = unseen;
  });
  expect(allowed).toEqual([]);
  expect(told).toContain(
    '65 % of zone span was not seen: it lies in a pocket (invented). What tells of it: Tensile strength.',
  );
});

it('tells stock and comparison in rows for page and record', () => {
  const [row] = stockRows(facts);
  expect(row).toMatchObject({ part: 'L-1-I1', stockPart: 'B-1', was: 'mg-bar, receipt R-BAR' });
  expect(row!.face.join('; ')).toMatch(/^zone span, milled dry, wiped with ethanol; made ready by P-OP, 2031-03-02/);
  expect(stockRows(facts, (part) => part === 'L-1-W1').map(({ part }) => part)).toEqual(['L-1-W1']);
  const [table] = changeTables(facts);
  expect(table!.rows[0]![0]).toMatch(/ % of \d+ squares of \d+\.\d\d mm$/);
  expect(table!.notes.join(' ')).toMatch(/laid as given.*Standard uncertainty of a change: 0.006 mm/);
  const rows = shapeTables(facts)[0]!.rows.map(([zone]) => zone);
  expect(rows).toEqual(['rest, stock', 'end, built', 'end, stock']);
  const repaired = edited(facts, (copy) => wasImplant(copy, [handed]));
  expect(stockRows(repaired)[0]!.story.join('; ')).toMatch(
    /^built in M1-77 from heats S:H0; handed over, 2031-01-20 \(HO-1\); kept as stock part since 2031-02-01/,
  );
});
