import fs from 'node:fs';
import path from 'node:path';
import { ReceiptCertificate } from '../../src/desk/receipt-certificate.js';
import { makeCell, temporaryFolder } from '../support/cell.js';
import { startTestService, type TestService } from '../support/service.js';

/** The page of a material certificate that a profile read: each value, and what stands at its place in the file. */

const PROFILE = {
  ...{ kind: 'certificate-profile', format: 1, profile: 'WIDE-LAB', revision: 1, title: 'a laboratory (invented)' },
  ...{ csv: { delimiter: 'semicolon', headerLines: 1 }, decimal: 'comma' },
  identity: [{ column: 'Lot', is: 'supplier lot' }],
  propertyColumns: {
    ...{ units: 'in the line below the head line', passedBy: ['Remark'] },
    uncertainties: [{ of: 'Zink', column: 'U' }],
  },
  uncertainty: { is: 'expanded', coverageFactor: '2' },
  properties: [
    { name: 'Zink', property: 'Zn', unit: 'Gew.-%', ucum: '%{mass}', need: 'always' },
    { name: 'Eisen', property: 'Fe', unit: 'mg/kg', ucum: 'mg/kg', need: 'always' },
  ],
};
const FILE = `Certificate (invented)
Lot;Zink;U;Eisen;Remark
;Gew.-%;Gew.-%;mg/kg;
OTHER;0,1;0,1;1;
S-77;0,42;0,06;<12;<script>alert(1)</script>
S-78;0,42;0,06;<12;${'long '.repeat(1000)}
`;

let service: TestService;
beforeAll(async () => {
  service = await startTestService();
  const { certificate, ...receipt } = makeCell().documents['site/receipt.yaml']! as { certificate: object };
  const { lines: _, ...rest } = certificate as { lines: object };
  const document = (number: string) => ({
    ...{ ...receipt, receipt: `R-${number}`, supplierLot: `S-${number}` },
    certificate: {
      ...{ ...rest, number: `C-${number}`, file: 'certificate.csv', readBy: { profile: 'WIDE-LAB', revision: 1 } },
    },
  });
  const folder = path.join(temporaryFolder('receipt-certificate'), 'site');
  fs.mkdirSync(folder);
  // JSON is YAML.
  fs.writeFileSync(path.join(folder, 'profile.yaml'), JSON.stringify(PROFILE));
  for (const number of ['77', '78'])
    fs.writeFileSync(path.join(folder, `receipt-${number}.yaml`), JSON.stringify(document(number)));
  fs.writeFileSync(path.join(folder, 'certificate.csv'), FILE);
  await service.services.intake.run(path.dirname(folder), 'local:tester');
});
afterAll(() => service.close());

const said = (html: string) =>
  html
    .replaceAll(/<[^>]+>/g, ' ')
    .replaceAll(/\s+/g, ' ')
    .trim();

it('is reached from its receipt, and tells each value with unit, uncertainty, line, column and what stands there', async () => {
  const found = (await service.ask.get('/find?id=R-77')).text;
  const [address] = /\/receipts\/R-77\/certificate/.exec(found)!;
  const html = (await service.ask.get(address)).text;
  const rows = [...html.matchAll(/<tr><th scope="row"[\s\S]*?<\/tr>/g)].map(([row]) => said(row));
  const raw = 'S-77;0,42;0,06;&lt;12;&lt;script&gt;alert(1)&lt;/script&gt;';
  expect(rows).toEqual([
    `Zn 0.42 % mass 0.03, standard (stated with k = 2) not told 5 Zink ${raw}`,
    `Fe &lt;12 mg/kg none stated not told 5 Eisen ${raw}`,
  ]);
  const [, file] = /<a href="(\/evidence\/[0-9a-f]{64})">certificate\.csv<\/a>/.exec(html)!;
  const kept = await service.ask.get(file!).buffer(true);
  expect(String(kept.body)).toBe(FILE);
  expect(html).toContain('certificate profile WIDE-LAB, revision 1');
});

it('is told to programs alike, each line as it stands in the file', async () => {
  const { body } = await service.ask.get('/api/v1/receipts/R-77/certificate');
  const certificate = ReceiptCertificate.parse(body);
  expect(certificate.lines.map(({ property, value, line, column }) => [property, value, line, column])).toEqual([
    ['Zn', '0.42', 5, 'Zink'],
    ['Fe', '<12', 5, 'Eisen'],
  ]);
  for (const { line, inFile } of certificate.lines) expect(inFile).toBe(FILE.split('\n')[line! - 1]);
});

it('tells of a long line its beginning, so that an answer does not hold a whole file once for each value', async () => {
  const { body } = await service.ask.get('/api/v1/receipts/R-78/certificate');
  const { lines } = ReceiptCertificate.parse(body);
  expect(lines).toHaveLength(2);
  for (const { line, inFile } of lines) expect(inFile).toBe(FILE.split('\n')[line! - 1]!.slice(0, 2000));
});

it('says of a certificate that people transcribed that no profile read it, and of no receipt that there is none', async () => {
  const { body } = await service.ask.get('/api/v1/receipts/R-1/certificate');
  const { readBy, lines } = ReceiptCertificate.parse(body);
  expect(readBy).toBeNull();
  expect(lines.every(({ inFile }) => inFile === null)).toBe(true);
  expect((await service.ask.get('/receipts/R-1/certificate')).text).toContain('people transcribed it');
  expect((await service.ask.get('/receipts/R-none/certificate')).status).toBe(404);
});
