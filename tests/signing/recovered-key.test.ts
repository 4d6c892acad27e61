import { signerText } from '../../src/report/phrases/signatures.js';
import { thingFrom } from '../../src/signing/thing.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { PASSWORD } from '../support/people.js';
import { SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
});
afterAll(() => cell.close());

it('signs as such: every statement says who vouched, the record too, and what the lost key signed holds on', async () => {
  const { accounts, accountActs, accountLinks, signing, store } = cell.services;
  const pending = await cell.prove('P-QE');
  const { token } = await accountActs.invite(await cell.prove('P-AD'), 'P-QE', 'forgotten', await cell.prove('P-RE'));
  await accountLinks.setPassword(token, 'eight quiet lanterns');
  const review = { things: [thingFrom('lot file:L-1')], meaning: 'reviewed' as const };
  await cell.services.assessor.assess('L-1', 'local:tester');
  // Whoever knew the old password just before signs nothing with the key that has gone.
  await expect(signing.sign(pending, review)).rejects.toMatchObject({
    code: 'REFUSED',
    message: expect.stringContaining('is not yours any more'),
  });
  await expect(accounts.prove('P-QE', PASSWORD)).rejects.toMatchObject({ code: 'REFUSED' });
  const { statement } = await signing.sign(await accounts.prove('P-QE', 'eight quiet lanterns'), review);
  expect(statement.person.recoveredBy).toEqual(['P-AD', 'P-RE']);
  expect(signerText(statement)).toBe(
    'Quentin Example (P-QE), quality engineer, with a recovered key: P-AD and P-RE vouched',
  );
  await cell.release('L-1', ['L-1-I1', 'L-1-I2']);
  expect(await store.verifyLedger()).toMatchObject({ ok: true });
  const { file } = await cell.services.issuer.issue('L-1', 'local:tester');
  const report = await verifyRecord(file, { key: store.key.fingerprint });
  expect(report.answer).toBe('as issued');
});
