import fs from 'node:fs';
import path from 'node:path';
import { ASSESSMENT_VERSION } from '../../src/base/assessment-version.js';
import { systemClock } from '../../src/base/clock.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { type SignedStatement, soleSubject } from '../../src/dossier/statement.js';
import { successionText } from '../../src/ledger/key-chain.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import { openPdf } from '../../src/pdf/reading/open-pdf.js';
import { loadOrMakeSeal, type Seal } from '../../src/pdf/seal/seal.js';
import type { PublicKey, RecordIssue, StateNote } from '../../src/records/enclosure.js';
import { sealOwner } from '../../src/report/phrases/seal.js';
import { checkSeal } from '../../src/verify/check-seal.js';
import { reportInWords, Steps, type VerifyOptions, type VerifyReport } from '../../src/verify/report.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { temporaryFolder } from '../support/cell.js';
import { issuedLot } from '../support/issued-lot.js';
import {
  flipped,
  insideAttachment,
  insidePage,
  objectText,
  referenceOf,
  replaced,
  signedAgain,
  withUpdate,
} from '../support/pdf-tampering.js';
import { noteBy, signedBy, TestPerson } from '../support/person-keys.js';
import { carriedSummary, type SealedRecord, SmallInstallation } from '../support/sealed-record.js';
import { sealParts, userSeal } from '../support/seals.js';
import { withTools } from '../support/tools.js';

let lot: AssessedLot;
let installation: SmallInstallation;
let first: SealedRecord;
let second: SealedRecord;
/** The first record as another program would have issued it: for what does not look at pages. */
let elsewhere: Buffer;

beforeAll(async () => {
  ({ lot, installation, first } = await issuedLot());
  second = await installation.render(lot, secondIssue());
  elsewhere = await issuedOtherwise((issue) => issue);
});

/** A second revision that names the first. */
function secondIssue(): RecordIssue {
  const issue = installation.issueOf(lot, 2, []);
  const supersedes = { ...pick(first.issue), enclosureSha256: first.enclosureSha256 };
  return { ...issue, earlier: [installation.earlier(first)], supersedes };
}

const pick = ({ record: { number, revision } }: RecordIssue) => ({ number, revision });

function written(bytes: Buffer): string {
  const file = path.join(temporaryFolder('sealed'), 'record.pdf');
  fs.writeFileSync(file, bytes);
  return file;
}

const verify = (bytes: Buffer, options: VerifyOptions = {}) => verifyRecord(written(bytes), options);
const failed = ({ steps }: VerifyReport) => steps.filter((step) => step.outcome === 'does not hold');
const says = (report: VerifyReport, step: string) =>
  reportInWords(report)
    .steps.filter((item) => item.step === step)
    .map((item) => `${item.outcome}: ${item.says}`);

/** Pages are rendered again by the program that made them only: where they are not looked at, there is an empty one. */
const OTHER_PROGRAM = 'Lotwright 0.0.1 (build 0)';

/** The first record as it would be if somebody with other keys had issued it in this way. */
async function issuedOtherwise(
  change: (issue: RecordIssue) => RecordIssue,
  seal: Seal | null = installation.seal,
): Promise<Buffer> {
  return installation.renderEmpty(lot, { ...change(first.issue), program: OTHER_PROGRAM }, seal);
}

describe('a sealed record as issued', () => {
  it('holds in every step, and says that no key was compared', async () => {
    const report = await verify(first.bytes);
    expect(failed(report)).toEqual([]);
    expect(report.answer).toBe('issuer not compared');
    expect(report.steps.map((step) => `${step.step}: ${step.outcome}`)).toEqual([
      'file: holds',
      'enclosure: holds',
      'seal: holds',
      'attachments: holds',
      'lot file: holds',
      'signatures: holds',
      'audit trail: holds',
      'first page: holds',
      'assessment: holds',
      'pages: holds',
      'evidence: not checked',
      'key: not checked',
      'earlier records: not checked',
    ]);
    expect(says(report, 'seal')[0]).toContain(installation.seal.certificateSha256);
    expect(says(report, 'seal')[0]).toContain('2031-05-04 10:00:00 UTC');
    expect(says(report, 'seal')[0]).toContain("is no person's signature");
    expect(says(report, 'key')[0]).toContain('was not compared with a key that you trust');
  });

  it('is bound to the key that the reader trusts, however its fingerprint was copied', async () => {
    const key = installation.fingerprint.toUpperCase().replace(/../g, '$&:').slice(0, -1);
    expect(says(await verify(elsewhere, { key }), 'key')[0]).toContain('holds: ');
  });

  it('is not bound to another key, and no fingerprint is taken for one', async () => {
    const report = await verify(elsewhere, { key: 'ab'.repeat(32) });
    expect(report.answer).toBe('another issuer');
    expect(failed(report).map((step) => step.step)).toEqual(['key']);
    await expect(verify(first.bytes, { key: '12 34' })).rejects.toMatchObject({ code: 'BAD_INPUT' });
  });

  it('proves that the audit trail of the earlier record is the beginning of its own', async () => {
    const alone = await verify(second.bytes);
    expect(says(alone, 'earlier records')).toEqual([expect.stringContaining('1 of them only grew')]);
    const report = await verify(second.bytes, { with: written(first.bytes) });
    expect(report.answer).toBe('issuer not compared');
    expect(says(report, 'earlier records')).toEqual([
      expect.stringContaining('is the beginning of the one under this'),
    ]);
  });
});

describe('the earlier record is named when', () => {
  const fault = async (report: Promise<VerifyReport>) => {
    const { answer, steps } = reportInWords(await report);
    expect(answer).toBe('altered');
    return steps.filter((step) => step.outcome === 'does not hold').map((step) => `${step.step}: ${step.says}`);
  };

  it('the two are the other way round', async () => {
    const found = await fault(verify(first.bytes, { with: written(second.bytes) }));
    expect(found).toEqual([expect.stringContaining('name the two files the other way round')]);
  });

  it('it is of another installation', async () => {
    const other = new SmallInstallation();
    const foreign = await other.render(lot, other.issueOf(lot, 1, []));
    const found = await fault(verify(second.bytes, { with: written(foreign.bytes) }));
    expect(found).toEqual([expect.stringContaining('under another audit trail')]);
  });

  it('it was altered itself', async () => {
    const spoilt = flipped(first.bytes, first.bytes.length - 3000);
    const found = await fault(verify(second.bytes, { with: written(spoilt) }));
    expect(found).toEqual([expect.stringContaining('cannot be relied on')]);
  });

  it('the audit trail was written anew in between', async () => {
    const issue = secondIssue();
    installation.rewrite(2);
    const earlier = [installation.earlier(first)];
    const rewritten = await installation.render(lot, { ...issue, ledger: installation.ledger(), earlier });
    installation.rewrite(2);
    const found = await fault(verify(rewritten.bytes));
    expect(found).toContainEqual(expect.stringContaining('did not only grow'));
  });
});

describe('names what was altered in place', () => {
  it.each(['results.csv', 'dossier.json', 'assessment.json'])('attachment %s', async (name) => {
    const report = await verify(await insideAttachment(first.bytes, name));
    expect(failed(report).map((step) => step.step)).toEqual(['seal', 'attachments']);
    expect(says(report, 'attachments')[0]).toContain(`${name} was altered`);
    expect(says(report, 'seal')[0]).toContain('what it covers was altered');
  });

  it('the enclosure', async () => {
    const report = await verify(await insideAttachment(first.bytes, 'enclosure.json'));
    expect(failed(report).map((step) => step.step)).toEqual(['enclosure', 'seal']);
  });

  it('the picture of a page', async () => {
    const report = await verify(insidePage(first.bytes, 1));
    expect(failed(report).map((step) => step.step)).toEqual(['seal', 'pages']);
    expect(says(report, 'pages')[0]).toMatch(/Altered: page 1$/);
  });

  it('the properties, and the metadata', async () => {
    const title = await verify(replaced(first.bytes, '(Lot L-1 of family', '(Lot L-9 of family'));
    expect(says(title, 'pages')[0]).toMatch(/Altered: the properties$/);
    const packet = await verify(replaced(first.bytes, '<rec:revision>1<', '<rec:revision>2<'));
    expect(says(packet, 'pages')[0]).toMatch(/Altered: the metadata$/);
    expect(failed(packet).map((step) => step.step)).toEqual(['seal', 'pages']);
  });

  it('the words of the seal', async () => {
    const report = await verify(replaced(elsewhere, '/Reason (Record', '/Reason (recorD'));
    expect(says(report, 'seal')[0]).toContain('what it covers was altered');
  });
});

describe('names what came after the seal, or is missing', () => {
  it('bytes at the end', async () => {
    const report = await verify(Buffer.concat([elsewhere, Buffer.from('\n% something more\n')]));
    expect(says(report, 'seal')[0]).toContain('18 bytes were added after it');
    expect(says(report, 'seal')[0]).toContain(`The first ${elsewhere.length} bytes of the file are the record`);
  });

  it('many bytes at the end, behind which no reader looks for the end', async () => {
    const report = await verify(Buffer.concat([elsewhere, Buffer.alloc(5000, 'x')]));
    expect(says(report, 'file')).toEqual(['does not hold: 5000 bytes were added behind the end of the file']);
  });

  it('an update that draws a page anew', async () => {
    const page = referenceOf(elsewhere, '/Kids');
    const body = objectText(elsewhere, page).replace('/MediaBox [0 0 595.28', '/MediaBox [0 0 295.28');
    const report = await verify(withUpdate(elsewhere, new Map([[page, body]])));
    expect(says(report, 'seal')[0]).toMatch(/were added after it, which touch: page 1\./);
    expect(report.answer).toBe('altered');
  });

  it('an update that names another title', async () => {
    const title = referenceOf(elsewhere, '/Title');
    const report = await verify(withUpdate(elsewhere, new Map([[title, '(Lot record L-2)']])));
    expect(says(report, 'seal')[0]).toContain('which touch: the properties.');
  });

  it('a signature of somebody else', async () => {
    const other = loadOrMakeSeal(temporaryFolder('other'), systemClock, sealOwner(false));
    const report = await verify(signedAgain(first.bytes, other));
    const [named] = says(report, 'signature "Other"');
    expect(named).toContain('a second signature, which this record does not know');
    expect(named).toContain(other.certificateSha256);
    expect(named).toContain('it holds');
    expect(says(report, 'seal')[0]).toContain('which touch: a signature, the form.');
    expect(says(report, 'pages')[0]).toMatch(/Altered: a signature, the form$/);
  });

  it('a file that was cut, at any place', async () => {
    for (const part of [0.2, 0.5, 0.9, 0.97, 0.999]) {
      const report = await verify(first.bytes.subarray(0, Math.floor(first.bytes.length * part)));
      expect(report.answer).toBe('altered');
      expect(says(report, 'file')[0]).toContain('the file was cut');
    }
  });

  it('the seal, when it was cut off', async () => {
    const { bytes } = await installation.render(lot, first.issue, null);
    expect(first.bytes.subarray(0, bytes.length).equals(bytes)).toBe(true);
    const report = await verify(bytes);
    expect(failed(report).map((step) => step.step)).toEqual(['seal']);
    expect(says(report, 'seal')[0]).toContain('it was removed');
  });
});

describe('names a seal that is not the one it should be', () => {
  it('of a foreign key', async () => {
    const other = loadOrMakeSeal(temporaryFolder('other'), systemClock, sealOwner(false));
    const { bytes } = await installation.render(lot, first.issue, other);
    const report = await verify(bytes);
    expect(failed(report).map((step) => step.step)).toEqual(['seal']);
    expect(says(report, 'seal')[0]).toContain(`a foreign certificate, ${other.certificateSha256}`);
  });

  it('of a foreign key that the enclosure was made to name: the audit trail does not know it', async () => {
    const other = loadOrMakeSeal(temporaryFolder('other'), systemClock, sealOwner(false));
    const seal = { certificateSha256: other.certificateSha256 };
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, seal }), other));
    expect(failed(report).map((step) => step.step)).toEqual(['audit trail']);
    expect(says(report, 'audit trail')[0]).toContain('the certificate of the seal');
  });

  it('of a final record without any', async () => {
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, seal: null }), null));
    expect(says(report, 'seal')).toEqual([expect.stringContaining('final records are sealed')]);
  });

  it('of a record that was issued without one', async () => {
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, seal: null })));
    expect(says(report, 'seal')).toEqual([expect.stringContaining('issued without a seal')]);
  });

  it('in any digit of its signature', async () => {
    const { from, to } = sealParts(first.bytes);
    const { contents } = await openPdf(written(first.bytes));
    const expected = { draft: false, certificateSha256: installation.seal.certificateSha256 };
    for (let at = from; at < to; at += 97) {
      const steps = new Steps();
      await checkSeal(flipped(first.bytes, at), contents, expected, steps);
      expect(steps.answer).toBe('altered');
      // Another letter case is another byte, though it is the same number.
      if (/[a-f]/.test(first.bytes.toString('latin1', at, at + 1))) {
        const letters = new Steps();
        await checkSeal(flipped(first.bytes, at, 0x20), contents, expected, letters);
        expect(letters.answer).toBe('altered');
      }
    }
  });
});

withTools(['openssl'], 'a seal of the user', () => {
  it('holds with an issuer, who is named', async () => {
    const seal = loadOrMakeSeal(userSeal('issued'), systemClock, sealOwner(false));
    const report = await verify((await sealedWith(seal)).bytes);
    expect(failed(report)).toEqual([]);
    expect(says(report, 'seal')[0]).toContain('"Record office", issued by O=Example works, CN=Works authority');
  });

  it('holds with RSA', async () => {
    const seal = loadOrMakeSeal(userSeal('rsa:2048'), systemClock, sealOwner(false));
    expect(failed(await verify((await sealedWith(seal)).bytes))).toEqual([]);
  });

  /** The record of an installation whose audit trail knows this seal. */
  async function sealedWith(seal: Seal): Promise<SealedRecord> {
    const own = new SmallInstallation(seal);
    return own.render(lot, own.issueOf(lot, 1, []));
  }
});

describe('names a statement that was not signed when it says', () => {
  const issued = async (
    at: string,
    change: (ledger: RecordIssue['ledger']) => Partial<RecordIssue['ledger']> = () => ({}),
  ) => {
    const own = new SmallInstallation();
    const { statement } = own.signed(lot, 'released', 'Rolf');
    const issue = own.issueOf(lot, 1, [own.signStatement({ ...statement, at })]);
    const ledger = { ...issue.ledger, ...change(issue.ledger) };
    return says(await verify(await own.renderEmpty(lot, { ...issue, ledger, program: OTHER_PROGRAM })), 'audit trail');
  };

  it('before an entry of the audit trail that stands before it, or after its own', async () => {
    const named = 'does not hold: Rolf Example, released, lot file L-1, ';
    expect(await issued('2031-05-04T08:59:59.000Z')).toEqual([
      `${named}2031-05-04T08:59:59.000Z: it says that it was done at 2031-05-04T08:59:59.000Z, and an entry before it was made at 2031-05-04T09:00:00Z`,
    ]);
    expect(await issued('2031-05-04T09:30:00Z')).toEqual([
      `${named}2031-05-04T09:30:00Z: it says that it was done at 2031-05-04T09:30:00Z, and was recorded before, at 2031-05-04T09:00:00Z`,
    ]);
  });

  it('before a head that an authority stamped, behind which it stands', async () => {
    const token = Buffer.from('a stamp').toString('base64');
    const stamped =
      (at: string) =>
      ({ size, root }: RecordIssue['ledger']) => ({
        witnessed: { by: 'CN=Example', at, size: size - 1, root, consistency: [], token },
      });
    const [found] = await issued('2031-05-04T09:00:00Z', stamped('2031-05-04T09:11:00Z'));
    expect(found).toMatch(/was not there yet when CN=Example stamped the 5 entries before it at 2031-05-04T09:11:00Z$/);
    expect((await issued('2031-05-04T09:00:00Z', stamped('2031-05-04T09:09:00Z')))[0]).toMatch(/^holds: /);
  });
});

describe('names what people did not sign', () => {
  const changed = (change: (signed: SignedStatement) => SignedStatement) =>
    issuedOtherwise((issue) => ({ ...issue, signatures: [issue.signatures[0]!, change(issue.signatures[1]!)] }));

  it('a statement that was changed, with its digest', async () => {
    const report = await verify(
      await changed((signed) => {
        const statement = { ...signed.statement, units: ['L-1-I9'] };
        return { ...signed, statement, digest: sha256Hex(canonicalJson(statement)) };
      }),
    );
    expect(says(report, 'signatures')[0]).toMatch(/Rolf Example, released, .*does not belong to it/);
    expect(says(report, 'audit trail')[0]).toContain('nothing proves that it holds the signature of Rolf Example');
  });

  it.each<[string, (issue: RecordIssue) => Partial<RecordIssue>, RegExp]>([
    [
      'a statement whose person did not sign it, though the installation did',
      ({ signatures: [review, release] }) => ({
        signatures: [review!, { ...release!, personSignature: review!.personSignature }],
      }),
      /Rolf Example, released, .*the person did not sign it/,
    ],
    [
      'a person for whom nobody vouches, though the installation does',
      ({ people }) => ({ people: people.map((key) => ({ ...key, endorsements: [] })) }),
      /of Rolf Example \(Rolf\): nobody whose key counts vouches for it/,
    ],
    [
      'a person whose account was closed before',
      ({ people }) => ({ people: people.map((key) => ({ ...key, closedAt: '2031-02-01T00:00:00.000Z' })) }),
      /Rolf Example, released, .*the key of the person was not in use then/,
    ],
  ])('%s', async (_, spoilt, named) => {
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, ...spoilt(issue) })));
    expect([...says(report, 'public keys'), ...says(report, 'signatures')].join('\n')).toMatch(named);
    expect(report.answer).toBe('altered');
  });

  const ROLF = new TestPerson('Rolf', 'Rolf Example');
  const TOLD = { lot: 'L-1', units: ['L-1-I1'], at: '2031-05-04T09:30:00.000Z', reason: 'dust', entry: 9 };
  const HELD = noteBy(ROLF, 'hold-placed', TOLD);
  const { signed, ...UNSIGNED } = HELD;
  const CAUSE = { kind: 'complaint', key: 'C-1', revision: 1 };

  it('nothing of acts that their people signed, and of a hold that the program placed', async () => {
    const own = { ...HELD, ...noteBy(ROLF, 'hold-lifted', { ...TOLD, reason: 'looked at' }) };
    const revoked = noteBy(ROLF, 'release-revoked', { ...TOLD, step: 'distribution' });
    const states = [HELD, own, revoked, { ...UNSIGNED, cause: CAUSE }];
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, states })));
    expect(says(report, 'signatures')).toEqual([
      expect.stringContaining('3 of 3 holds, revocations and the like by their people'),
    ]);
  });

  it.each<[string, StateNote, RegExp]>([
    ['that nobody signed', UNSIGNED, /nobody signed it/],
    ['lifted by nobody, for a cause', { ...UNSIGNED, what: 'hold-lifted', cause: CAUSE }, /nobody signed it/],
    ['of another unit', { ...HELD, units: ['L-1-I2'] }, /says something else/],
    ['of fewer units', noteOf({ ...TOLD, units: ['L-1-I1', 'L-1-I2'] }, ['L-1-I1']), /says something else/],
    ['with another reason', { ...HELD, reason: 'none' }, /says something else/],
    ['at another time', { ...HELD, at: '2031-05-04T09:31:00.000Z' }, /says something else/],
    ['of another lot', noteOf({ ...TOLD, lot: 'L-9' }), /says something else/],
    ['turned into its end', { ...HELD, what: 'hold-lifted' }, /says something else/],
    ['by somebody else', { ...HELD, by: 'person:Ada' }, /says something else/],
    ['by a person whom nobody knows', noteBy(new TestPerson('Eve', 'Eve'), 'hold-placed', TOLD), /nobody vouches/],
    ['by another in their name', noteBy(new TestPerson('Rolf', 'Rolf', 'x'), 'hold-placed', TOLD), /nobody vouches/],
    [
      'signed by the key of somebody else',
      { ...HELD, signed: { ...signed!, signatures: [{ ...signed!.signatures[0]!, signature: 'AAAA' }] } },
      /the person did not sign it/,
    ],
    ['before the key of the person', noteOf({ ...TOLD, at: '2030-01-01T00:00:00.000Z' }), /not in use then/],
  ])('a hold %s', async (_, note, named) => {
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, states: [note] })));
    expect(says(report, 'signatures')).toEqual([expect.stringMatching(named)]);
    expect(report.answer).toBe('altered');
  });

  function noteOf(told: Parameters<typeof noteBy>[2], units = told.units): StateNote {
    return { ...noteBy(new TestPerson('Rolf', 'Rolf Example'), 'hold-placed', told), units };
  }

  it('people whom somebody made who has the installation key alone, for a reader who knows the first administrator', async () => {
    const eve = new TestPerson('Ada', 'Ada Example', 'of an intruder');
    const { statement } = first.issue.signatures[1]!;
    const rolf = new TestPerson('Rolf', 'Rolf Example', 'of an intruder');
    const forged = signedBy(rolf, installation, statement);
    const keys = [eve.named(installation), rolf.named(installation, [eve])];
    const people = keys.map((key) => ({ ...key, madeAt: '2031-01-02T09:00:00.000Z', closedAt: null }));
    const own = new SmallInstallation(installation.seal, installation.key);
    const issue = { ...own.issueOf(lot, 1, [forged]), people };
    const record = (await own.render(lot, issue)).bytes;
    const known = first.issue.people[0]!.fingerprint;
    const key = installation.fingerprint;
    expect(says(await verify(record, { key }), 'signatures')[0]).toContain(
      `keys of people begin with ${eve.fingerprint}`,
    );
    const report = await verify(record, { key, people: known });
    expect(report.answer).toBe('another issuer');
    expect(says(report, 'keys of people')[0]).toContain(
      `lead from ${eve.fingerprint} of Ada Example (Ada), and not from`,
    );
    const genuine = await verify(first.bytes, { key, people: known });
    expect([genuine.answer, says(genuine, 'keys of people')[0]]).toEqual([
      'as issued',
      'holds: the keys of people lead from the one that you trust',
    ]);
  });

  it('a statement that was signed with another key', async () => {
    const other = new SmallInstallation();
    const report = await verify(await changed(({ statement }) => other.signStatement(statement)));
    expect(says(report, 'signatures')[0]).toContain('does not belong to it');
    const foreign = await verify(await changed(() => other.signed(lot, 'released', 'Rolf')));
    expect(says(foreign, 'signatures')[0]).toContain('which the record does not carry');
  });

  it('a release that was signed on another first page than the lot file comes to', async () => {
    const { statement } = first.issue.signatures[1]!;
    const beside = statement.beside.map((one) => (one.kind === 'summary' ? { ...one, digest: 'ab'.repeat(32) } : one));
    const report = await verify(await changed(() => installation.signStatement({ ...statement, beside })));
    expect(says(report, 'first page')[0]).toMatch(/Rolf Example, released.*another first page/);
    expect(report.answer).toBe('altered');
  });

  it('a first page that is carried and not the one signed, though nothing else is wrong', async () => {
    const other = { ...carriedSummary(lot), text: '{}' };
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, summaries: [other] })));
    expect(says(report, 'first page')[0]).toContain(`not the one with the digest ${other.sha256}`);
    expect(report.answer).toBe('altered');
  });

  it('a statement that was signed here, about another lot', async () => {
    const { statement } = first.issue.signatures[1]!;
    const other = installation.signStatement({ ...statement, subjects: [{ ...soleSubject(statement), key: 'L-2' }] });
    const report = await verify(await changed(() => other));
    expect(says(report, 'signatures')[0]).toContain('it speaks of another lot than L-1');
  });

  it('but not a statement on an earlier state of the lot, which is counted', async () => {
    const own = new SmallInstallation();
    const { statement } = own.signed(lot, 'reviewed', 'Rea');
    const earlier = own.signStatement({
      ...statement,
      subjects: [{ ...soleSubject(statement), digest: 'ab'.repeat(32) }],
    });
    const report = await verify((await own.render(lot, own.issueOf(lot, 1, [earlier]))).bytes);
    expect(says(report, 'signatures')).toEqual([expect.stringContaining('1 of them on an earlier state of this lot')]);
    // The page that was signed then is carried, and cannot be made again from the lot file of now.
    expect(says(report, 'first page')).toEqual([
      'holds: 1 signature covers the first page that the record shows or carries',
    ]);
    expect(report.answer).toBe('issuer not compared');
  });

  it('a key that is called by another fingerprint', async () => {
    const other = new SmallInstallation();
    const keys = [{ fingerprint: installation.fingerprint, publicPem: other.publicPem }];
    const report = await verify(await issuedOtherwise((issue) => ({ ...issue, keys })));
    expect(says(report, 'public keys')).toHaveLength(1);
  });

  it.each<[string, (own: SmallInstallation, other: SmallInstallation) => Partial<PublicKey>]>([
    [
      'after the one in use, for which it vouches itself',
      (own, other) => {
        const text = successionText({ replaces: own.fingerprint, fingerprint: other.fingerprint });
        const itself = other.sign(text).toString('base64');
        return { replaces: own.fingerprint, endorsement: itself, acceptance: itself };
      },
    ],
    ['before the one in use, which never took its place', () => ({ replaces: null })],
  ])('a statement under a key %s, though the genuine key signed the head over it', async (_what, says_) => {
    const [own, other] = [new SmallInstallation(), new SmallInstallation()];
    const { fingerprint, publicPem } = other;
    const issue = own.issueOf(lot, 1, [other.signed(lot, 'released', 'Rolf')]);
    const keys = [...issue.keys, { fingerprint, publicPem, ...says_(own, other) }];
    const report = await verify((await own.render(lot, { ...issue, keys })).bytes, { key: own.fingerprint });
    expect(report.answer).toBe('altered');
    expect(says(report, 'public keys')[0]).toMatch(/it is not the first key|it does not follow the key before it/);
    expect(says(report, 'key')[0]).toContain(`under keys that do not lead to the one that you trust: ${fingerprint}`);
  });

  it('nothing of a key that the one in use took the place of', async () => {
    const before = new SmallInstallation();
    const { fingerprint, publicPem } = before;
    const text = successionText({ replaces: fingerprint, fingerprint: installation.fingerprint });
    const [endorsement, acceptance] = [before, installation].map((one) => one.sign(text).toString('base64'));
    const rotated = await issuedOtherwise(({ keys: [key, ...others], ...issue }) => ({
      ...issue,
      keys: [{ ...key!, replaces: fingerprint, endorsement, acceptance }, { fingerprint, publicPem }, ...others],
    }));
    const report = await verify(rotated, { key: installation.fingerprint });
    expect(failed(report)).toEqual([]);
  });
});

describe('names what the audit trail does not hold', () => {
  const withLedger = (change: Partial<RecordIssue['ledger']>) =>
    issuedOtherwise((issue) => ({ ...issue, ledger: { ...issue.ledger, ...change } }));
  const named = async (bytes: Buffer) => says(await verify(bytes), 'audit trail')[0];

  it('no signed head', async () => {
    expect(await named(await withLedger({ checkpoint: null }))).toContain('without signed head');
  });

  it('a head that was not signed', async () => {
    const checkpoint = first.issue.ledger.checkpoint!.replace(/\n\d+\n/, '\n99\n');
    expect(await named(await withLedger({ checkpoint, size: 99 }))).toContain('was not signed by the key');
  });

  it('a head of another size than shown', async () => {
    expect(await named(await withLedger({ size: 99 }))).toContain('is not the one shown');
  });

  it('an entry that was altered', async () => {
    const [entry, ...proofs] = first.issue.ledger.proofs;
    const other = { ...entry!, entry: entry!.entry.replace('program', 'programme') };
    expect(await named(await withLedger({ proofs: [other, ...proofs] }))).toContain('entry 1 was altered');
  });

  it('an entry that is not proven', async () => {
    const proofs = first.issue.ledger.proofs.filter(({ entry }) => !entry.includes('dossier-frozen'));
    expect(await named(await withLedger({ proofs }))).toContain('holds this lot file');
  });

  it('and binds nothing to a key when its head does not hold', async () => {
    const report = await verify(await withLedger({ size: 99 }), { key: installation.fingerprint });
    expect(says(report, 'key')[0]).toContain('does not hold: ');
  });
});

describe('an assessment', () => {
  const turned = (version: string): AssessedLot => {
    const [unit, ...units] = lot.assessment.units;
    const assessment = {
      ...lot.assessment,
      version,
      units: [{ ...unit!, verdict: 'does not conform' as const }, ...units],
    };
    return { ...lot, assessment, assessmentSha256: sha256Hex(canonicalJson(assessment)) };
  };
  const issued = async (other: AssessedLot, program: string) => {
    const issue = { ...installation.issueOf(other, 1, []), program };
    return verify((await installation.render(other, issue)).bytes);
  };

  it('that these very rules would not make was altered, whatever program says to have issued it', async () => {
    const report = await issued(turned(ASSESSMENT_VERSION), OTHER_PROGRAM);
    expect(report.answer).toBe('altered');
    expect(says(report, 'assessment')[0]).toContain('does not hold: not what');
  });

  it('of another version may honestly differ: both verdicts are shown', async () => {
    const report = await issued(turned('0123456789ab'), OTHER_PROGRAM);
    expect(report.answer).toBe('another version');
    expect(says(report, 'assessment')[0]).toContain('differs: rules of version 0123456789ab assessed it');
    expect(report.units[0]).toMatchObject({ verdict: 'does not conform', now: lot.assessment.units[0]!.verdict });
    expect(says(report, 'pages')[0]).toContain('the seal covers the pages');
  });
});
