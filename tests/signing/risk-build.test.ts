import { SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
});
afterAll(() => cell.close());

it('lets process and quality each allow a build at risk once, and waits for them until then', async () => {
  const { services, folder } = cell;
  folder.advanceTo('2031-06-02T12:00:00Z');
  const document = {
    ...{ kind: 'risk-build', format: 1, build: 'M1-101', receipts: ['R-1'], implants: ['L-1-I1', 'L-1-I2'] },
    ...{ why: 'surgery is fixed (invented)', by: 'P-OP', at: '2031-03-02T08:00:00+01:00' },
  };
  await services.intake.take([{ file: 'risk.yaml', document }], 'local:tester');
  const waits = async () =>
    (await services.waiting.all()).filter(({ thing }) => thing.startsWith('risk-build:')).length;
  expect(await waits()).toBeGreaterThan(0);
  await cell.decide('P-PE', ['risk-build:M1-101@1']);
  await expect(cell.decide('P-PE', ['risk-build:M1-101@1'])).rejects.toThrow();
  await expect(cell.decide('P-OP', ['risk-build:M1-101@1'])).rejects.toThrow();
  await cell.decide('P-QE', ['risk-build:M1-101@1']);
  expect(await waits()).toBe(0);
});
