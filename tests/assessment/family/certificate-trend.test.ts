import { certificateTrend } from '../../../src/assessment/family/certificate-trend.js';
import type { Receipt } from '../../../src/kinds/receipt.js';

const delivery = (index: number, value: string, more: Partial<Receipt> = {}, ucum = '%'): Receipt =>
  ({
    ...{ receipt: `R-${index}`, supplier: 'SILVER', supplierLot: `S-${index}`, heats: [`H${index}`] },
    receivedAt: `2031-0${1 + Math.floor(index / 28)}-${String(1 + (index % 28)).padStart(2, '0')}T08:00:00Z`,
    certificate: { lines: [{ property: 'Fe', value, ucum }] },
    ...more,
  }) as unknown as Receipt;

it('tells each supplier alone, in the order of delivery, whatever the order of the files', () => {
  const rising = [21, 23, 22, 26, 27, 29, 31].map((value, index) => delivery(index, `0.00${value}`));
  const other = [22, 21, 22, 23, 21, 22].map((value, index) =>
    delivery(20 + index, `0.00${value}`, { supplier: 'GOLD' }),
  );
  const found = certificateTrend([...other, ...rising].reverse(), 'Fe')!;
  expect(found.suppliers.map(({ supplier, points }) => [supplier, points.length])).toEqual([
    ['GOLD', 6],
    ['SILVER', 7],
  ]);
  const [gold, silver] = found.suppliers;
  expect(silver!.points.map(({ heat }) => heat)).toEqual(['H0', 'H1', 'H2', 'H3', 'H4', 'H5', 'H6']);
  expect(found.compared).toBe(2);
  expect(silver!.drift).toMatchObject({ isSeen: true });
  // By hand: 20 of 21 pairs rise, S = 19; its variance 7 * 6 * 19 / 18 = 44.33; z = 18 / 6.658 = 2.70.
  expect(silver!.drift!.p).toBeCloseTo(0.00686, 4);
  expect(gold!.drift).toMatchObject({ isSeen: false });
});

it('keeps bounds out of its numbers, takes other units in, and names those that measure something else', () => {
  const found = certificateTrend(
    [
      delivery(0, '<0.0005'),
      delivery(1, '21', {}, '[ppm]'),
      delivery(2, '0.0023'),
      delivery(3, '12', {}, 'um'),
      delivery(4, '0.0025'),
    ],
    'Fe',
  )!;
  const [silver] = found.suppliers;
  expect(silver!.points.map(({ value, isBound }) => [value, isBound])).toEqual([
    [0.0005, true],
    [0.0021, false],
    [0.0023, false],
    [0.0025, false],
  ]);
  expect(found.otherUnits).toEqual(['R-3']);
  expect(silver!.mean).toBeCloseTo(0.0023, 9);
  expect(silver!.drift).toBeNull();
  expect(certificateTrend([delivery(1, '1')], 'Ni')).toBeUndefined();
});
