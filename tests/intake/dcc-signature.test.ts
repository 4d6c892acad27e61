import { execFileSync } from 'node:child_process';
import { createHash, X509Certificate } from 'node:crypto';
import fs from 'node:fs';
import { setTimeout } from 'node:timers/promises';
import { SignedXml } from 'xml-crypto';
import type { BadInputError } from '../../src/base/errors.js';
import { readDcc } from '../../src/intake/dcc.js';
import { isTrusted, namedSigners } from '../../src/intake/trusted-signers.js';
import { CALIBRATION_CERTIFICATE } from '../../src/report/phrases/calibration-certificate.js';
import type { Reads } from '../../src/store/repositories.js';
import { temporaryFolder } from '../support/cell.js';
import { withTool } from '../support/tools.js';

/**
 * Signatures of digital calibration certificates: made by xmlsec1 (tests/reference/dcc/write-signed.sh), which is another
 * program than the one that verifies here, and changes of them.
 */

const text = (name: string) => fs.readFileSync(`tests/reference/dcc/${name}.xml`, 'utf8');
const read = (xml: string) => readDcc('a.xml', Buffer.from(xml));
const WAYS = ['signed-rsa', 'signed-rsa-sha512', 'signed-ecdsa', 'signed-xades', 'signed-path'];
const [RSA, , ECDSA, XADES, PATH] = WAYS.map((name) => text(name)) as [string, string, string, string, string];
const SIGNED_AT: Readonly<Record<string, string>> = {
  ...{ 'signed-ecdsa': '2031-03-01T09:00:00Z', 'signed-xades': '2031-03-02T10:00:00Z' },
  'signed-path': '2031-03-02T10:00:00Z',
};

function refusal(xml: string): { line: number | undefined; found: string | undefined } {
  try {
    read(xml);
  } catch (error) {
    const [{ code, line, found, remedy }] = (error as BadInputError).problems as [BadInputError['problems'][0]];
    expect([code, remedy]).toEqual(['dcc-signature', expect.stringMatching(/^ask the laboratory/)]);
    return { line, found };
  }
  throw new Error('it was taken');
}
const DSIG = 'http://www.w3.org/2000/09/xmldsig#';
const lineOfSignature = (xml: string) => xml.slice(0, xml.indexOf('<ds:Signature ')).split('\n').length;

it.each(WAYS)('holds in %s, by the certificate in it and the one that issued that', (name) => {
  const xml = text(name);
  const shown = [...xml.matchAll(/<ds:X509Certificate>([^<]+)</g)].map(([, base64]) => Buffer.from(base64!, 'base64'));
  const [leaf, root] = shown.map((der) => createHash('sha256').update(der).digest('hex'));
  const { signatures, ...told } = read(xml);
  expect(signatures).toEqual([
    {
      certificateSha256: leaf,
      subject: expect.stringMatching(/^O=Example laboratory \(invented\), CN=(?:rsa|ecdsa)$/),
      issuer: 'O=Example authority (invented), CN=Root',
      ...{ validFrom: expect.stringMatching(/Z$/), validTo: expect.stringMatching(/Z$/), issuedBySha256: [root] },
      signedAt: SIGNED_AT[name] ?? null,
    },
  ]);
  expect(new X509Certificate(shown[0]!).checkIssued(new X509Certificate(shown[1]!))).toBe(true);
  const { signatures: none, ...plain } = read(text('dcc_gp_temperature_typical_v12'));
  expect(none).toEqual([]);
  // xmlsec1 writes the head of the file on other lines.
  const withoutLines = ({ readings, ...more }: typeof plain) => ({
    ...more,
    readings: readings.map(({ line: _, ...one }) => one),
  });
  expect(withoutLines(told)).toEqual(withoutLines(plain));
  expect(xml.split('\n')[told.readings[0]!.line - 1]).toContain('<si:realListXMLList>');
});

it('does not hold once any digit of a value, a unit, a day or a name is another', () => {
  const places = [...RSA.matchAll(/306\.248|0\.061|\\kelvin|1957-08-13|Kalibrierfirma/g)].map(({ index }) => index);
  expect(places.length).toBeGreaterThan(8);
  for (const at of places.filter((_, index) => index % 3 === 0)) {
    const other = RSA[at + 1] === '1' ? '2' : '1';
    const xml = `${RSA.slice(0, at + 1)}${other}${RSA.slice(at + 2)}`;
    // What is no value any more may be refused as such, before anybody asks whose it is.
    expect(() => read(xml)).toThrow(/another content than the one that was signed|found /);
  }
  const xml = RSA.replace('306.248', '306.249');
  expect(refusal(xml)).toEqual({
    line: lineOfSignature(xml),
    found: 'another content than the one that was signed',
  });
});

it('holds whatever comments stand in it, since they are not signed, and reads a value as it was signed', () => {
  expect(read(RSA.replace('306.248', '306<!-- 9 -->.248')).readings[0]!.value).toBe('306.248');
  expect(read(RSA.replace('306.248', '306<![CDATA[.24]]>8')).readings[0]!.value).toBe('306.248');
});

const swap = (xml: string, from: string | RegExp, to: string) => {
  const changed = xml.replace(from, to);
  expect(changed).not.toBe(xml);
  return changed;
};

it.each<[string, () => string, RegExp]>([
  [
    'made by another key',
    () => swap(RSA, /(<ds:SignatureValue>.{8})./, RSA.match(/<ds:SignatureValue>.{8}(.)/)![1] === 'A' ? '$1B' : '$1A'),
    /its certificate did not make/,
  ],
  [
    'beside the certificate of somebody else',
    () => swap(RSA, /<ds:X509Certificate>[^<]+<\/ds:X509Certificate>/, ''),
    /its certificate did not make/,
  ],
  [
    'without a certificate',
    () => swap(RSA, /<ds:X509Data>[\s\S]*<\/ds:X509Data>/, '<ds:X509Data/>'),
    /^0 certificates/,
  ],
  ['without KeyInfo', () => swap(RSA, /<ds:KeyInfo>[\s\S]*<\/ds:KeyInfo>/, ''), /another form/],
  ['over a part alone', () => swap(RSA, 'URI=""', 'URI="#a"'), /over something else/],
  ['over nothing named', () => swap(RSA, ' URI=""', ''), /over something else/],
  ['over more than is in it', () => swap(ECDSA, 'URI="#p-1"', 'URI="#p-2"'), /another content/],
  [
    'without its own transform',
    () => swap(RSA, /<ds:Transform Algorithm="[^"]*enveloped-signature"\/>/, ''),
    /over something else/,
  ],
  [
    'after a transform that chooses',
    () =>
      swap(
        RSA,
        /(enveloped-signature"\/>)/,
        '$1<ds:Transform Algorithm="http://www.w3.org/TR/1999/REC-xpath-19991116"/>',
      ),
    /over something else/,
  ],
  ['by SHA-1', () => swap(RSA, /xmldsig-more#rsa-sha256/, 'xmldsig-more#rsa-sha1'), /rsa-sha1/],
  ['by a shared key', () => swap(RSA, /xmldsig-more#rsa-sha256/, 'xmldsig-more#hmac-sha256'), /hmac-sha256/],
  ['by a key of another sort', () => swap(RSA, /xmldsig-more#rsa-sha256/, 'xmldsig-more#ecdsa-sha256'), /did not make/],
  ['with a digest that is not known', () => swap(RSA, /xmlenc#sha256/, 'xmlenc#ripemd160'), /cannot be verified/],
  ['with a time that was added', () => swap(ECDSA, '2031-03-01T09', '2030-03-01T09'), /another content/],
  [
    'with a certificate that is none',
    () => swap(RSA, /<ds:X509Certificate>[^<]+/, '<ds:X509Certificate>AAAA'),
    /cannot be read/,
  ],
  ['with another style sheet', () => swap(XADES, 'href="dcc.xsl"', 'href="other.xsl"'), /another content/],
  ['with an instruction behind it', () => `${XADES.trimEnd()}<?print twice?>`, /another content/],
  // The library takes what an instruction holds for text, and would find what was signed.
  [
    'with a text that is hidden in an instruction',
    () => swap(RSA, /(<dcc:name>\s*<dcc:content[^>]*>)([^<]+)(<)/, '$1<?hide $2?>$3'),
    /an instruction <\?hide … \?> inside/,
  ],
  [
    'with an attribute that is not digested',
    () => swap(RSA, '<dcc:coreData>', '<dcc:coreData xmlnsx="1">'),
    /attribute xmlnsx/,
  ],
  ['with another value, under a path', () => swap(PATH, '306.248', '306.249'), /another content/],
  [
    'by a path that takes out more',
    () => swap(PATH, 'descendant::ds:Signature', 'descendant::dcc:list'),
    /something else/,
  ],
  ['by a path to what is no signature', () => swap(PATH, '::ds:Signature', '::dcc:Signature'), /something else/],
  ['by a path that keeps what it finds', () => swap(PATH, 'Filter="subtract"', 'Filter="union"'), /something else/],
  [
    'by two paths',
    () =>
      swap(
        PATH,
        /(<f:XPath[\s\S]*?<\/f:XPath>)/,
        '$1<f:XPath xmlns:f="http://www.w3.org/2002/06/xmldsig-filter2" Filter="subtract">/descendant::dcc:list</f:XPath>',
      ),
    /something else/,
  ],
])('is refused %s, with the line of the signature', (_, make, says) => {
  const xml = make();
  const { line, found } = refusal(xml);
  expect(found).toMatch(says);
  expect(line).toBe(lineOfSignature(xml));
});

it('is refused where there are more of them than anybody makes', () => {
  const [one] = RSA.match(/<ds:Signature [\s\S]*<\/ds:Signature>/)!;
  expect(refusal(RSA.replace(one, one.repeat(6))).found).toBe('6 signatures');
});

it('digests the document once, whatever certificates stand beside it', () => {
  const [, root] = [...RSA.matchAll(/<ds:X509Certificate>[^<]+<\/ds:X509Certificate>/g)].map(([text]) => text);
  const check = vi.spyOn(SignedXml.prototype, 'checkSignature');
  const { signatures } = read(RSA.replace('<ds:X509Data>', `<ds:X509Data>${root!.repeat(5)}`));
  expect([signatures[0]!.subject, check.mock.calls.length]).toEqual([expect.stringMatching(/CN=rsa$/), 1]);
  check.mockRestore();
});

it('tells one that was taken out, or stands elsewhere, as not signed', () => {
  expect(read(swap(RSA, /<ds:Signature [\s\S]*<\/ds:Signature>/, '')).signatures).toEqual([]);
  const [signature] = RSA.match(/<ds:Signature [\s\S]*<\/ds:Signature>/)!;
  const inside = RSA.replace(signature, '').replace(
    '</dcc:administrativeData>',
    `${signature}</dcc:administrativeData>`,
  );
  expect(read(inside).signatures).toEqual([]);
});

it('is refused where what was signed names another certificate than the one that made it', () => {
  const xml = text('signed-other-certificate');
  expect(refusal(xml)).toEqual({
    line: lineOfSignature(xml),
    found: 'a signature that names another certificate as its own',
  });
});

it('holds for what stands outside every signature, and believes nothing that stands in one', () => {
  const [signature] = PATH.match(/<ds:Signature [\s\S]*<\/ds:Signature>/)!;
  // By its path each signature is left out, wherever it stands: so what it holds is not read either.
  const inside = `<ds:Signature xmlns:ds="${DSIG}"><dcc:coreData><dcc:uniqueIdentifier>X</dcc:uniqueIdentifier></dcc:coreData></ds:Signature>`;
  const xml = PATH.replace('</dcc:administrativeData>', `${inside}</dcc:administrativeData>`);
  expect(xml).toContain(signature);
  const { signatures, identifier } = read(xml);
  expect([signatures.length, identifier]).toEqual([1, read(PATH).identifier]);
});

withTool('openssl', 'certificates beside a signature', () => {
  const folder = temporaryFolder('dcc-certificates');
  const openssl = (command: string) => execFileSync('openssl', command.split(' '), { cwd: folder, stdio: 'pipe' });
  const base64Of = (name: string) =>
    new X509Certificate(fs.readFileSync(`${folder}/${name}.pem`)).raw.toString('base64');
  const CURVE = 'req -x509 -newkey ec -nodes -pkeyopt ec_paramgen_curve:';
  const SELF = 'req -x509 -days 30 -subj /CN=Root -key root.key -out';
  openssl('ecparam -name prime256v1 -genkey -noout -out root.key');
  openssl('req -newkey rsa:2048 -nodes -keyout own.key -out own.csr -subj /CN=laboratory');

  const issue = (digest: string) =>
    openssl(`x509 -req -in own.csr -CA root.pem -CAkey root.key -set_serial 2 -days 30 -${digest} -out own.pem`);

  /** The published certificate, signed by a key of our own, with the certificate of that and the one of an authority. */
  function signedBeside(authority: string): string {
    const shown = ['own', authority].map((name) => `<X509Certificate>${base64Of(name)}</X509Certificate>`).join('');
    const signing = new SignedXml({
      privateKey: fs.readFileSync(`${folder}/own.key`),
      signatureAlgorithm: 'http://www.w3.org/2001/04/xmldsig-more#rsa-sha256',
      canonicalizationAlgorithm: 'http://www.w3.org/2001/10/xml-exc-c14n#',
      getKeyInfoContent: () => `<X509Data>${shown}</X509Data>`,
    });
    const transforms = [`${DSIG}enveloped-signature`, 'http://www.w3.org/2001/10/xml-exc-c14n#'];
    const digestAlgorithm = 'http://www.w3.org/2001/04/xmlenc#sha256';
    signing.addReference({ xpath: '/*', digestAlgorithm, isEmptyUri: true, transforms });
    signing.computeSignature(text('dcc_gp_temperature_typical_v12'));
    return signing.getSignedXml();
  }

  it('lead to the authority that issued one while its own was valid, and by no digest that can be met by another', async () => {
    openssl(`${SELF} root.pem`);
    const issuersBeside = (name: string) =>
      read(signedBeside(name)).signatures.map(({ issuedBySha256 }) => issuedBySha256);
    const sha256Of = (name: string) =>
      createHash('sha256')
        .update(Buffer.from(base64Of(name), 'base64'))
        .digest('hex');
    issue('sha1');
    expect(issuersBeside('root')).toEqual([[]]);
    issue('sha256');
    expect(issuersBeside('root')).toEqual([[sha256Of('root')]]);
    // Of the same name and key, but it began after it issued the other; certificates tell whole seconds.
    const issued = Date.parse(new X509Certificate(fs.readFileSync(`${folder}/own.pem`)).validFrom);
    while (Date.now() < issued + 1000) await setTimeout(50);
    openssl(`${SELF} later.pem`);
    expect(issuersBeside('later')).toEqual([[]]);
    issue('sha256');
    expect(issuersBeside('later')).toEqual([[sha256Of('later')]]);
  });

  it('are refused with a key that is too short, RSA or ECDSA', () => {
    openssl(`${CURVE}prime192v1 -keyout short.key -out ec.pem -days 30 -subj /CN=short`);
    openssl('req -x509 -newkey rsa:1024 -nodes -keyout short.key -out rsa.pem -days 30 -subj /CN=short');
    const beside = (name: string) => swap(RSA, /(<ds:X509Certificate>)[^<]+/, `$1${base64Of(name)}`);
    expect(refusal(beside('ec')).found).toBe('a key of the curve prime192v1');
    expect(refusal(beside('rsa')).found).toBe('a key of 1024 bits');
  });
});

describe('a signer', () => {
  const { signatures, begins } = read(RSA);
  const reads = (sha256: string) =>
    ({
      entries: { list: async () => [{ key: 'S-9', body: { title: 'lab', signsWith: [{ sha256, basis: 'seen' }] } }] },
    }) as unknown as Reads;

  it('is trusted where a supplier names the certificate, or the one that issued it, and not otherwise', async () => {
    const told = { supplier: 'S-9', title: 'lab', validity: 'unknown' };
    const [{ certificateSha256, issuedBySha256 }] = signatures as [(typeof signatures)[0]];
    expect(await namedSigners(reads(certificateSha256), { signatures, begins })).toEqual([told]);
    expect(await namedSigners(reads(issuedBySha256[0]!), { signatures, begins })).toEqual([told]);
    expect(await namedSigners(reads('0'.repeat(64)), { signatures, begins })).toEqual([null]);
    expect(await namedSigners(reads(certificateSha256), { signatures: [], begins })).toEqual([]);
  });

  it('is trusted only where its certificate was valid when it says that it signed', async () => {
    const { signatures: all } = read(ECDSA);
    const [own] = all as [(typeof all)[0]];
    const then = async (signedAt: string | null) => {
      const [signer] = await namedSigners(reads(own.certificateSha256), {
        signatures: [{ ...own, validFrom: '2030-01-01T00:00:00.000Z', validTo: '2032-01-01T00:00:00.000Z', signedAt }],
        begins,
      });
      return [signer!.validity, isTrusted(signer!)];
    };
    expect(await then('2031-03-01T09:00:00Z')).toEqual(['valid', true]);
    expect(await then('2029-12-31T23:59:59Z')).toEqual(['invalid', false]);
    expect(await then('2032-01-01T00:00:01Z')).toEqual(['invalid', false]);
    for (const none of ['in spring', '1', '2031', 'March 1, 2031', '2031-03-01', '2031-13-01T09:00:00Z'])
      expect(await then(none)).toEqual(['invalid', false]);
    // Without a zone it has to hold in each.
    expect(await then('2030-01-01T13:59:59')).toEqual(['invalid', false]);
    expect(await then('2030-01-01T14:00:00')).toEqual(['valid', true]);
    expect(await then('2031-12-31T10:00:00.5')).toEqual(['invalid', false]);
    expect(await then(null)).toEqual(['unknown', true]);
    for (const said of ['valid', 'invalid', 'unknown'] as const)
      expect(CALIBRATION_CERTIFICATE.named({ title: 'lab', validity: said })).toMatch(
        said === 'invalid' ? /^Not trusted/ : /^Trusted/,
      );
  });

  it('is not trusted where the certificate had ended before the calibration began', async () => {
    const after = { signatures, begins: '2200-01-01' };
    const [signer] = await namedSigners(reads(signatures[0]!.certificateSha256), after);
    expect([signer!.validity, isTrusted(signer!)]).toEqual(['invalid', false]);
  });
});
