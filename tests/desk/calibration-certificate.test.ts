import fs from 'node:fs';
import path from 'node:path';
import { CalibrationCertificate } from '../../src/intake/dcc.js';
import { temporaryFolder } from '../support/cell.js';
import { startTestService, type TestService } from '../support/service.js';

/** The page of a digital calibration certificate, and the way to it; the certificate was signed by xmlsec1 (tests/reference/dcc). */

const CERTIFICATE = fs.readFileSync('tests/reference/dcc/signed-rsa.xml');
const CALIBRATION = {
  ...{
    certificate: 'GP_DCC_temperature_typical_1.2',
    at: '1957-08-13T10:00:00+01:00',
    due: '1958-08-13T00:00:00+01:00',
  },
  ...{ asFound: 'in tolerance', asLeft: 'in tolerance', traceableTo: 'SI (invented)', file: 'dcc.xml' },
};
const INSTRUMENT = {
  kind: 'instrument',
  format: 1,
  instrument: 'string-customer-item',
  title: 'a probe',
  measures: 'K',
};

let service: TestService;
beforeAll(async () => {
  service = await startTestService();
  await take({ 'probe.yaml': { ...INSTRUMENT, calibrations: [CALIBRATION] } });
});
afterAll(() => service.close());

async function take(documents: Readonly<Record<string, object>>): Promise<void> {
  const folder = temporaryFolder('dcc-page');
  fs.mkdirSync(path.join(folder, 'site'));
  fs.writeFileSync(path.join(folder, 'site', 'dcc.xml'), CERTIFICATE);
  // JSON is YAML.
  for (const [name, one] of Object.entries(documents)) {
    fs.writeFileSync(path.join(folder, 'site', name), JSON.stringify(one));
  }
  await service.services.intake.run(folder, 'local:tester');
}

const said = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');

async function pageOfIt(): Promise<{ readonly html: string; readonly address: string }> {
  const found = (await service.ask.get('/find?id=string-customer-item')).text;
  const [address] = /\/evidence\/[0-9a-f]{64}\/certificate/.exec(found)!;
  return { html: (await service.ask.get(address)).text, address };
}

it('is reached from its instrument, and tells each value with unit, uncertainty, coverage factor and line', async () => {
  const { html, address } = await pageOfIt();
  const { body } = await service.ask.get(`/api/v1${address}`);
  const { trustedAs, ...certificate } = body as { trustedAs: unknown };
  const { readings, signatures } = CalibrationCertificate.parse(certificate);
  expect(trustedAs).toEqual([null]);
  const rows = [...html.matchAll(/<tr><td[\s\S]*?<\/tr>/g)].map(([row]) => said(row).trim());
  expect(rows).toHaveLength(readings.length);
  const { line } = readings[14]!;
  expect(rows[14]).toBe(`Messergebnisse Messabweichung 5 −0.084 K 0.061, expanded (k = 2) ${line}`);
  expect(CERTIFICATE.toString('utf8').split('\n')[line - 1]).toContain('<si:realListXMLList>');
  expect(said(html)).toContain('Signed by O=Example laboratory (invented), CN=rsa. The signature holds');
  expect(said(html)).toContain(`Not trusted yet: no document of a supplier names this certificate`);
  expect(html).toContain(signatures[0]!.certificateSha256);
});

it('calls the signer trusted once the document of a supplier names the certificate', async () => {
  const { address } = await pageOfIt();
  const { body } = await service.ask.get(`/api/v1${address}`);
  const [{ certificateSha256 }] = (body as CalibrationCertificate).signatures as [
    CalibrationCertificate['signatures'][0],
  ];
  const signsWith = [{ sha256: certificateSha256, basis: 'read out by telephone (invented)' }];
  await take({ 'lab.yaml': { kind: 'supplier', format: 1, supplier: 'CAL-LAB', title: 'a laboratory', signsWith } });
  expect(said((await pageOfIt()).html)).toContain('Trusted: the certificate is named by the document of a laboratory.');
  expect((await service.ask.get(`/api/v1${address}`)).body).toMatchObject({ trustedAs: ['CAL-LAB'] });
});

it('answers for no other file', async () => {
  const html = (await service.ask.get('/lots/L-1/tests')).text;
  const [address] = /\/evidence\/[0-9a-f]{64}/.exec(html)!;
  expect((await service.ask.get(`${address}/certificate`)).status).toBe(404);
});
