import type { Facts } from '../../src/dossier/facts.js';
import { genealogyFigures } from '../../src/report/genealogy-figure.js';
import { stockMetal } from '../../src/report/stock-metal.js';
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
  expect(stockMetal(repaired, repaired.lot.body.implants[0]!)).toMatchObject({
    heats: [
      { supplier: 'S-1', heat: 'H-0' },
      { supplier: 'S-2', heat: 'H-0' },
    ],
    receipts: ['R-0'],
    was: { implant: 'L-0-I9', lot: 'L-0' },
  });
});

it('says nothing of stock where nothing was built on any', () => {
  const plain = edited(facts, (copy: Editable) => {
    for (const implant of copy.lot.body.implants) delete implant.builtOn;
  });
  const { alt, caption } = pictureOf(plain);
  expect(`${alt}${caption}`).not.toMatch(/stock|R-BAR/);
  expect(stockMetal(plain, plain.lot.body.implants[0]!)).toBeUndefined();
});
