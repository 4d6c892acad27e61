import { execFileSync, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { DemoClock, systemClock } from '../../src/base/clock.js';
import { renderTwice } from '../../src/pdf/render.js';
import { loadOrMakeSeal, type Seal } from '../../src/pdf/seal/seal.js';
import { sealPdf } from '../../src/pdf/seal/seal-pdf.js';
import { sealOwner } from '../../src/report/phrases/seal.js';
import { temporaryFolder } from '../support/cell.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects, withFile } from '../support/pdf-objects.js';
import { drawSample, SAMPLE_IDENTITY } from '../support/record-sample.js';
import { sealParts, userSeal } from '../support/seals.js';
import { withTools } from '../support/tools.js';

const CLOCK = new DemoClock(new Date('2026-03-02T09:30:15.250Z'));
const OWNER = sealOwner(true);
const WORDS = {
  signedAt: CLOCK.now(),
  reason: 'Lot record LR-1 (revision 2) as issued',
  name: 'Prüfzelle \\ "Nord"',
  ...{ title: 'Seal of the cell', alt: 'Seal over the whole file' },
};

let rendered: Buffer;
let seal: Seal;
let sealed: Buffer;

beforeAll(async () => {
  rendered = await renderTwice({ ...SAMPLE_IDENTITY, state: 'final' }, drawSample);
  seal = loadOrMakeSeal(temporaryFolder('seal'), CLOCK, OWNER);
  sealed = sealPdf(rendered, seal, WORDS);
});

describe('a sealed record', () => {
  it('begins with the rendered file, byte for byte', () => {
    expect(sealed.subarray(0, rendered.length).equals(rendered)).toBe(true);
  });

  it('is refused a second seal: an update of an update is not what our renderer writes', () => {
    expect(() => sealPdf(sealed, seal, WORDS)).toThrow('unlike those that this program renders');
    expect(() => sealPdf(Buffer.from('%PDF-1.7\n'), seal, WORDS)).toThrow('cross-reference table');
  });

  it('takes its time from the words given, to the second', () => {
    expect(sealed.includes('/M (D:20260302093015Z)')).toBe(true);
  });
});

withTools(['qpdf'], 'a sealed record as qpdf reads it', () => {
  it('is clean, and still has what PDF/A-3a asks for', () => {
    withFile(sealed, (file) => {
      expect(execFileSync('qpdf', ['--check', file], { encoding: 'utf8' })).toContain('No syntax or stream encoding');
    });
    expect(checkPdf(PdfObjects.read(sealed))).toEqual([]);
  });

  it('has one root in its structure tree, under which the field of the seal stands', () => {
    const pdf = PdfObjects.read(sealed);
    const roots = pdf.array(pdf.dictionary(pdf.catalogue['/StructTreeRoot'])['/K']).map((root) => pdf.dictionary(root));
    expect(roots.map((root) => root['/S'])).toEqual(['/Document']);
    const last = pdf.dictionary(pdf.array(roots[0]!['/K']).at(-1));
    expect([last['/S'], pdf.dictionary(last['/P'])['/S']]).toEqual(['/Form', '/Document']);
  });

  it('has one signature field, with the words as they were given', () => {
    const pdf = PdfObjects.read(sealed);
    const form = pdf.dictionary(pdf.catalogue['/AcroForm']);
    expect(form['/SigFlags']).toBe(3);
    const [field, ...others] = pdf.array(form['/Fields']).map((item) => pdf.dictionary(item));
    expect(others).toEqual([]);
    const value = pdf.dictionary(field!['/V']);
    expect(pdf.text(value['/Reason'])).toBe(WORDS.reason);
    expect(pdf.text(value['/Name'])).toBe(WORDS.name);
    expect(value['/SubFilter']).toBe('/ETSI.CAdES.detached');
  });
});

withTools(['pdfsig', 'pdfdetach', 'openssl'], 'a sealed record as poppler reads it', () => {
  it.each([
    ['the seal that was made', () => sealed],
    [
      'an RSA key of the user',
      () => sealPdf(rendered, loadOrMakeSeal(userSeal('rsa:3072'), systemClock, OWNER), WORDS),
    ],
    [
      'a P-384 key of the user',
      () => sealPdf(rendered, loadOrMakeSeal(userSeal('ec:secp384r1'), systemClock, OWNER), WORDS),
    ],
    ['a key with an issuer', () => sealPdf(rendered, loadOrMakeSeal(userSeal('issued'), systemClock, OWNER), WORDS)],
  ])('has a valid signature over the whole file, by %s', (_, bytes) => {
    const said = withFile(bytes(), (file) => spawnSync('pdfsig', [file], { encoding: 'utf8' })).stdout;
    expect(said).toContain('Signature Validation: Signature is Valid.');
    expect(said).toContain('Total document signed');
    expect(said).toContain('Signature Type: ETSI.CAdES.detached');
    expect(said).toContain('Signing Time: Mar 02 2026 09:30:15');
  });

  it('keeps its attachments', () => {
    const list = withFile(sealed, (file) => execFileSync('pdfdetach', ['-list', file], { encoding: 'utf8' }));
    expect(list).toContain('2 embedded files');
  });
});

withTools(['openssl'], 'the signature as OpenSSL reads it', () => {
  it('is the same with the same RSA key, whose signatures repeat', () => {
    const rsa = loadOrMakeSeal(userSeal('rsa:2048'), systemClock, OWNER);
    expect(sealPdf(rendered, rsa, WORDS).equals(sealPdf(rendered, rsa, WORDS))).toBe(true);
  });

  it.each([
    ['the seal that was made', () => seal],
    ['an RSA key of the user', () => loadOrMakeSeal(userSeal('rsa:2048'), systemClock, OWNER)],
    ['a key with an issuer', () => loadOrMakeSeal(userSeal('issued'), systemClock, OWNER)],
  ])('is a CAdES signature of the bytes around it, by %s', (_, make) => {
    const used = make();
    const { covered, cms } = sealParts(sealPdf(rendered, used, WORDS));
    withFile(covered, (file, folder) => {
      const of = (name: string) => path.join(folder, name);
      fs.writeFileSync(of('seal.der'), cms);
      fs.writeFileSync(of('certificate.pem'), used.certificatePem);
      // -cades has OpenSSL want and compare signing-certificate-v2 (RFC 5035).
      const trust = ['-CAfile', of('certificate.pem'), '-partial_chain', '-no_check_time', '-purpose', 'any'];
      const options = ['-inform', 'DER', '-in', of('seal.der'), '-content', file, '-binary', '-cades', ...trust];
      const out = ['-out', of('out'), '-certsout', of('certificates.pem')];
      const ran = spawnSync('openssl', ['cms', '-verify', ...options, ...out], { encoding: 'utf8' });
      expect(ran.stderr).toContain('successful');
      expect(ran.status).toBe(0);
      expect(fs.readFileSync(of('certificates.pem'), 'utf8')).toContain(used.certificatePem.trim());
    });
  });

  it('and its certificate is self-signed, for signing and for being held to it, and no authority', () => {
    const text = withFile(Buffer.from(seal.certificatePem), (file) =>
      execFileSync('openssl', ['x509', '-in', file, '-noout', '-text', '-fingerprint', '-sha256'], {
        encoding: 'utf8',
      }),
    );
    expect(text).toMatch(/Subject: CN ?= ?Lotwright record seal \(fictional demo data\) [0-9a-f]{8}\n/);
    expect(text).toContain('Digital Signature, Non Repudiation');
    expect(text).toContain('CA:FALSE');
    expect(text).toContain('Not Before: Mar  2 09:30:15 2026 GMT');
    expect(text).toContain('Not After : Mar  2 09:30:15 2051 GMT');
    expect(text.replaceAll(':', '').toLowerCase()).toContain(seal.certificateSha256);
    const verified = withFile(Buffer.from(seal.certificatePem), (file) =>
      execFileSync('openssl', ['verify', '-check_ss_sig', '-attime', '1790000000', '-CAfile', file, file], {
        encoding: 'utf8',
      }),
    );
    expect(verified).toContain('OK');
  });
});

withTools(['openssl'], 'the file of the seal', () => {
  it('is made once, for its owner only, and read again', () => {
    const folder = temporaryFolder('seal');
    const first = loadOrMakeSeal(folder, CLOCK, OWNER);
    const again = loadOrMakeSeal(folder, CLOCK, OWNER);
    expect(again.certificateSha256).toBe(first.certificateSha256);
    expect(fs.statSync(path.join(folder, 'keys', 'seal.pem')).mode & 0o777).toBe(0o600);
    expect(fs.readdirSync(path.join(folder, 'keys'))).toEqual(['seal.pem']);
  });

  const refused = (change: (pem: string) => string, words: string, mode = 0o600) => {
    const folder = userSeal('issued');
    const file = path.join(folder, 'keys', 'seal.pem');
    fs.writeFileSync(file, change(fs.readFileSync(file, 'utf8')));
    fs.chmodSync(file, mode);
    expect(() => loadOrMakeSeal(folder, CLOCK, OWNER)).toThrow(words);
  };
  const certificatesOf = (pem: string) => pem.match(/-----BEGIN CERT[\s\S]*?-----END CERTIFICATE-----\n/g)!;
  const keyOf = (pem: string) => pem.slice(0, pem.indexOf('-----BEGIN CERT'));

  it('is refused when others may read it', () => refused((pem) => pem, 'mode to 0600', 0o644));
  it('is refused without a key', () => refused((pem) => certificatesOf(pem).join(''), 'no private key'));
  it('is refused with a key under a password', () =>
    refused((pem) => pem.replaceAll('PRIVATE', 'ENCRYPTED PRIVATE'), 'under a password'));
  it('is refused without a certificate', () => refused(keyOf, 'no certificate'));
  it('is refused with the certificate of another key', () =>
    refused((pem) => keyOf(pem) + certificatesOf(pem).reverse().join(''), 'of another key'));
  it('is refused with a chain that does not follow', () =>
    refused((pem) => `${pem}${seal.certificatePem}`, 'does not name the issuer'));
  it('is refused with a certificate that is none', () =>
    refused((pem) => pem.replace(/(BEGIN CERTIFICATE-----\n).{64}/, '$1AAAA'), 'number 1, that cannot be read'));
  it('is refused before and after the certificate is valid', () => {
    const folder = userSeal('rsa:2048');
    expect(() => loadOrMakeSeal(folder, new DemoClock(new Date('2020-01-01')), OWNER)).toThrow('cannot seal now');
    expect(() => loadOrMakeSeal(folder, new DemoClock(new Date('2090-01-01')), OWNER)).toThrow('cannot seal now');
  });
  it('is refused with a short RSA key, and with a key that signs otherwise', () => {
    expect(() => loadOrMakeSeal(userSeal('rsa:1024'), systemClock, OWNER)).toThrow('does not seal');
    expect(() => loadOrMakeSeal(userSeal('ed25519'), systemClock, OWNER)).toThrow('does not seal');
  });
});
