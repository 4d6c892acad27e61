import type { Facts } from '../../src/dossier/facts.js';
import { genealogyFigures } from '../../src/report/genealogy-figure.js';
import { stockMetals } from '../../src/report/stock-metal.js';
import { stockRows } from '../../src/report/stock-rows.js';
import { addStock } from '../support/documents/stock.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { textsOf } from '../support/scenes.js';

/** Where the metal of what was built on stock came from: the stock too, with its certificate or with what it was. */

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => addStock(cell), '2031-12-01T12:00:00Z');
});

/** As whoever sees it reads it, and as whoever does not is told it. */
const pictureOf = (of: Facts, isShown?: (serial: string) => boolean) => {
  const [figure] = genealogyFigures(of, isShown);
  const drawn = textsOf(figure!.scene);
  for (const text of drawn.slice(1)) expect(figure!.alt).toContain(text);
  return { ...figure!, drawn };
};

it('draws each bar with its heat, receipt and certificate, and an arrow to what was built on it', () => {
  const { alt, drawn, caption } = pictureOf(facts);
  const receipt = facts.receipts.get('R-BAR')!.body;
  expect(drawn).toEqual(expect.arrayContaining(['H-BAR', 'R-BAR', 'B-1', 'B-2', 'stock part, mg-bar']));
  expect(drawn).toContain(`certificate ${receipt.certificate!.number}`);
  for (const arrow of [
    'H-BAR to R-BAR',
    'R-BAR to B-1',
    'R-BAR to B-2',
    'B-1 to L-1-I1 built on',
    'B-2 to L-1-I2 built on',
  ])
    expect(alt).toContain(arrow);
  expect(caption).toContain('stock part');
});

it('draws only the stock of implants that are shown', () => {
  const { drawn } = pictureOf(facts, (serial) => serial === 'L-1-I2');
  expect(drawn).toContain('B-2');
  expect(drawn).not.toContain('B-1');
});

it('tells of a repaired part what it was, in which lot, and of which heats', () => {
  const repaired = edited(facts, (copy: Editable) => {
    const stock = copy.stockParts.get('B-1').body;
    delete stock.receipt;
    Object.assign(stock, { implant: 'L-0-I9', why: 'a boss was milled away (invented)' });
    const origin = { stockPart: 'B-1', implant: 'L-0-I9', lot: 'L-0', builds: ['M1-90'], receipts: ['R-0'] };
    copy.stock.origins.push({ ...origin, heats: ['S-1:H-0', 'S-2:H-0'], events: [] });
  });
  const { alt } = pictureOf(repaired);
  expect(alt).toContain('L-0-I9 (was an implant of lot L-0)');
  // One number at two suppliers is two heats.
  expect(alt.match(/H-0 to L-0-I9/g)).toHaveLength(2);
  expect(alt).toContain('L-0-I9 to B-1');
  expect(stockMetals(repaired, repaired.lot.body.implants[0]!)).toMatchObject([
    {
      heats: [
        { supplier: 'S-1', heat: 'H-0' },
        { supplier: 'S-2', heat: 'H-0' },
      ],
      receipts: ['R-0'],
      was: { implant: 'L-0-I9', lot: 'L-0' },
    },
  ]);
});

/** B-1 was an implant that was built on B-8, which was one that was built on a bar of an earlier lot. */
const builtTwice = (last: Editable) =>
  edited(facts, (copy: Editable) => {
    const stock = copy.stockParts.get('B-1').body;
    delete stock.receipt;
    Object.assign(stock, { implant: 'L-0-I9', why: 'a boss was milled away (invented)' });
    const of = (n: number, more: Editable) => ({
      ...{ builds: [`M1-9${n}`], receipts: [`R-P${n}`], heats: [`S-1:H-P${n}`], events: [] },
      ...{ implant: `L-0-I${n}`, lot: 'L-0', ...more },
    });
    copy.stock.origins.push(
      of(9, { stockPart: 'B-1', builtOn: { stockPart: 'B-8', material: 'mg-repaired' } }),
      of(8, { stockPart: 'B-8', builtOn: last }),
    );
  });

it('tells of a part that was built on again and again all its metal, back to the bar with heat, receipt and certificate', () => {
  const paper = { receipt: 'R-OLD', heats: ['S-1:H-OLD'], certificate: 'C-OLD' };
  const again = builtTwice({ stockPart: 'B-7', material: 'mg-bar', receipt: paper });
  const { alt, drawn } = pictureOf(again);
  expect(drawn).toEqual(expect.arrayContaining(['H-OLD', 'R-OLD', 'certificate C-OLD', 'stock part, mg-repaired']));
  const arrows = [
    'H-OLD to R-OLD',
    'R-OLD to B-7',
    'B-7 to L-0-I8 built on',
    'L-0-I8 to B-8',
    'B-8 to L-0-I9 built on',
  ];
  for (const arrow of [...arrows, 'H-P8 to L-0-I8', 'H-P9 to L-0-I9', 'L-0-I9 to B-1', 'B-1 to L-1-I1 built on'])
    expect(alt).toContain(arrow);
  expect(stockMetals(again, again.lot.body.implants[0]!)).toMatchObject([
    { stockPart: 'B-1', heats: [{ heat: 'H-P9' }], was: { implant: 'L-0-I9' } },
    { stockPart: 'B-8', heats: [{ heat: 'H-P8' }], was: { implant: 'L-0-I8' } },
    { stockPart: 'B-7', heats: [{ supplier: 'S-1', heat: 'H-OLD' }], certificate: { number: 'C-OLD' }, was: undefined },
  ]);
  const [row] = stockRows(again);
  expect(row!.story).toContain('built on stock part B-7, mg-bar, receipt R-OLD, heats S-1:H-OLD');
});

it('ends where stock is said to be built on itself', () => {
  const round = builtTwice({ stockPart: 'B-1', material: 'mg-bar' });
  expect(stockMetals(round, round.lot.body.implants[0]!).map(({ stockPart }) => stockPart)).toEqual(['B-1', 'B-8']);
  expect(pictureOf(round).alt).toContain('L-0-I8 to B-8');
});

it('draws no arrow from a receipt that the lot file does not have', () => {
  const without = edited(facts, (copy: Editable) => {
    copy.receipts.delete('R-BAR');
  });
  expect(pictureOf(without).alt).not.toMatch(/undefined|R-BAR/);
});

it('says nothing of stock where nothing was built on any', () => {
  const plain = edited(facts, (copy: Editable) => {
    for (const implant of copy.lot.body.implants) delete implant.builtOn;
  });
  const { alt, caption } = pictureOf(plain);
  expect(`${alt}${caption}`).not.toMatch(/stock|R-BAR/);
  expect(stockMetals(plain, plain.lot.body.implants[0]!)).toEqual([]);
});
