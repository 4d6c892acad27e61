import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { renderTwice } from '../../src/pdf/render.js';
import { attachFiles, enclose } from '../../src/records/render-record.js';
import { VERIFY_ANSWERS } from '../../src/report/phrases/commands/verify.js';
import { ANSWERS, type Answer, answerOf } from '../../src/verify/answer.js';
import { reportInWords, type VerifyOptions } from '../../src/verify/report.js';
import type { VerifyStep } from '../../src/verify/step.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { temporaryFolder } from '../support/cell.js';
import { type IssuedLot, issuedLot } from '../support/issued-lot.js';
import { flipped, objectText, referenceOf, withUpdate } from '../support/pdf-tampering.js';
import { noteBy, TestPerson } from '../support/person-keys.js';
import { contentOf } from '../support/record-content.js';
import { drawSample, SAMPLE_IDENTITY } from '../support/record-sample.js';
import { SmallInstallation } from '../support/sealed-record.js';
import { sealParts } from '../support/seals.js';
import { withTools } from '../support/tools.js';

let issued: IssuedLot;
/** As another program would have issued it, so that nothing is drawn where pages are not looked at. */
let elsewhere: Buffer;
beforeAll(async () => {
  issued = await issuedLot();
  const { first, installation, lot } = issued;
  elsewhere = (await installation.render(lot, { ...first.issue, program: OTHER_PROGRAM })).bytes;
});

const OTHER_PROGRAM = 'Lotwright 0.0.1 (build 0)';

function written(bytes: Buffer | string, name = 'record.pdf'): string {
  const file = path.join(temporaryFolder('answers'), name);
  fs.writeFileSync(file, bytes);
  return file;
}

/** The answer with everything that the report says. */
async function asked(file: string, options: VerifyOptions = {}): Promise<{ answer: Answer; says: string }> {
  const report = await verifyRecord(file, options);
  const says = reportInWords(report).steps.map((step) => `${step.step}, ${step.outcome}: ${step.says}`);
  return { answer: report.answer, says: says.join('\n') };
}

describe('the one answer', () => {
  const step = (outcome: VerifyStep['outcome'], code = 'code', name = 'seal') =>
    ({ step: name, outcome, code }) as unknown as VerifyStep;
  const key = step('holds', 'trusted key', 'key');
  const foreign = step('does not hold', 'another key', 'key');
  const saved = step('does not hold', 'saved again', 'pages');
  const broken = step('does not hold');

  it.each<[string, VerifyStep[], Answer]>([
    ['as issued, by the key you trust', [step('holds'), key], 'as issued'],
    [
      'agrees with itself, no key given',
      [step('holds'), step('not checked', 'no key given', 'key')],
      'issuer not compared',
    ],
    ['another key, and nothing else', [step('holds'), foreign], 'another issuer'],
    ['another key, and something altered', [broken, foreign], 'altered'],
    ['another key, of another version', [step('differs'), foreign], 'another issuer'],
    ['saved again, its seal broken by that', [step('does not hold', 'seal cut'), saved, key], 'saved again'],
    ['saved after the seal', [step('does not hold', 'saved after the seal'), key], 'saved again'],
    ['saved again by another issuer', [saved, foreign], 'another issuer'],
    ['saved again, and a foreign seal', [step('does not hold', 'foreign certificate'), saved, key], 'altered'],
    ['a broken seal without proof of the content', [step('does not hold', 'sealed content altered'), key], 'altered'],
    ['assessed differently', [step('differs'), key], 'another version'],
    ['of a later version', [step('not known'), key], 'another version'],
    ['no record, whatever else', [step('does not hold', 'no record', 'file'), broken], 'no record'],
  ])('%s', (_, steps, answer) => {
    expect(answerOf(steps)).toBe(answer);
  });

  it('has seven forms, an exit code and words for each', () => {
    expect(Object.keys(ANSWERS)).toHaveLength(7);
    expect(Object.keys(VERIFY_ANSWERS).sort()).toEqual(Object.keys(ANSWERS).sort());
  });
});

it('names who decided each implant and when, with what lies over it', async () => {
  const { units, record } = await verifyRecord(written(elsewhere));
  expect(record).toMatchObject({ draft: false, final: false });
  expect(units).toHaveLength(2);
  for (const { decision, over } of units) {
    expect(decision).toEqual({
      meaning: 'released',
      step: 'distribution',
      by: 'Rolf Example',
      at: '2031-05-04T09:00:00Z',
    });
    expect(over).toEqual([]);
  }
  const other = new SmallInstallation(issued.installation.seal);
  const { installation, lot } = issued;
  const issue = other.issueOf(lot, 1, [other.signed(lot, 'released', 'Rolf')]);
  const told = { lot: 'L-1', units: ['L-1-I1'], at: '2031-05-04T09:30:00.000Z', reason: 'dust', entry: 9 };
  const held = noteBy(new TestPerson('Rolf', 'Rolf Example'), 'hold-placed', told);
  const { bytes } = await other.render(lot, { ...issue, states: [held], program: OTHER_PROGRAM }, installation.seal);
  expect((await verifyRecord(written(bytes))).units.map(({ over }) => over)).toEqual([['onHold'], []]);
});

withTools(['qpdf'], 'a record that another program wrote anew', () => {
  const through = (bytes: Buffer, ...options: string[]): string => {
    const from = written(bytes);
    const to = path.join(path.dirname(from), 'saved.pdf');
    execFileSync('qpdf', [
      ...options.filter((one) => one !== '--'),
      from,
      ...(options.includes('--') ? pagesBut5 : []),
      to,
    ]);
    return to;
  };
  const pagesBut5 = ['--pages', '.', '1-4,6-z', '--'];

  it.each([
    ['packed into object streams, page by page', ['--object-streams=generate', '--linearize']],
    ['unpacked', ['--stream-data=uncompress']],
  ])('%s is told apart: the content is the same', async (_, options) => {
    const { answer, says } = await asked(through(issued.first.bytes, ...options));
    expect(answer).toBe('saved again');
    expect(says).toContain('show and carry what rendering the attached data again gives, and over that the seal holds');
  });

  it('without a page names it by its number, also when this build cannot draw it', async () => {
    const { answer, says } = await asked(through(issued.first.bytes, '--'));
    expect(answer).toBe('altered');
    expect(says).toMatch(/Altered: (\d+) pages where (\d+) were: page 5 is missing/);
    const other = await asked(through(elsewhere, '--'));
    expect(other.answer).toBe('altered');
    expect(other.says).toMatch(/pages, does not hold: \d+ pages where \d+ were: missing 5$/m);
  });

  it('is altered when its enclosure was forged, though it is drawn by it and has the seal of the other', async () => {
    const { first, installation, lot } = issued;
    const { bytes } = await installation.render(lot, { ...first.issue, printedBy: 'local:taster' });
    const [own, other] = [sealParts(bytes), sealParts(first.bytes)];
    first.bytes.copy(bytes, own.from, other.from, other.to);
    const { answer, says } = await asked(through(bytes));
    expect(answer).toBe('altered');
    expect(says).toContain('Altered: nothing that is shown or carried');
  });
});

describe('two updates after the seal', () => {
  const updated = (bytes: Buffer, from: string, to: string): Buffer => {
    const page = referenceOf(bytes, '/Kids');
    return withUpdate(bytes, new Map([[page, objectText(bytes, page).replace(from, to)]]));
  };

  it('are told by what they change together', async () => {
    const once = updated(elsewhere, '/MediaBox [0 0 595.28', '/MediaBox [0 0 295.28');
    const back = updated(once, '/MediaBox [0 0 295.28', '/MediaBox [0 0 595.28');
    const twice = updated(once, '/MediaBox [0 0 295.28', '/MediaBox [0 0 195.28');
    expect((await asked(written(twice))).says).toMatch(/were added after it, which touch: page 1\./);
    expect((await asked(written(twice))).answer).toBe('altered');
    expect((await asked(written(back))).answer).toBe('saved again');
  });
});

describe('what is no record', () => {
  const folder = (): string => temporaryFolder('no record');
  const link = (to: string): string => {
    const file = path.join(folder(), 'record.pdf');
    fs.symlinkSync(to, file);
    return file;
  };
  const another = (attached: readonly { name: string; bytes: Buffer }[] = []): Promise<Buffer> =>
    renderTwice({ ...SAMPLE_IDENTITY, state: 'final' }, (page) => {
      drawSample(page);
      for (const file of attached) {
        page.attach({ ...file, mediaType: 'application/pdf', relationship: 'Data', description: 'Invented' });
      }
    });
  /** Our own engine draws it, so that only what it says of itself has to go. */
  const anonymous = (bytes: Buffer): Buffer =>
    Buffer.from(
      bytes
        .toString('latin1')
        .replaceAll('LotwrightRecord', 'SomethingOrElse')
        .replaceAll('urn:lotwright:record:1', 'urn:something:else:777')
        .replaceAll('dossier.json', 'invoice.json'),
      'latin1',
    );

  it.each<[string, () => string | Promise<string>, string]>([
    ['an empty file', () => written(''), 'it is empty'],
    ['a text', () => written('Invoice 17\nSum 120.00\n'), 'it is a text'],
    ['a picture', () => written(Buffer.from('89504e470d0a1a0a0000000d49484452', 'hex')), 'it is a picture'],
    ['a ZIP file', () => written(Buffer.from('504b030414000000', 'hex')), 'unpack it and verify the PDF record'],
    ['bytes of no kind', () => written(Buffer.from('00ff00ff', 'hex')), 'it is no PDF'],
    ['a folder', folder, 'it is a folder'],
    ['a link that leads nowhere', () => link('/nowhere/record.pdf'), 'a link that leads nowhere'],
    ['a device', () => link('/dev/zero'), 'neither a file nor a folder'],
    ['the head of a PDF', () => written('%PDF-1.7\n1 0 obj\n<< >>\nendobj\n'), 'it has no end'],
    ['a PDF of somebody else', async () => written(anonymous(await another())), 'but no record of this program'],
    [
      'a PDF that carries a record',
      async () => written(anonymous(await another([{ name: 'record.pdf', bytes: issued.first.bytes }]))),
      'it carries record.pdf: take that out',
    ],
  ])('%s', async (_, make, words) => {
    const { answer, says } = await asked(await make());
    expect(answer).toBe('no record');
    expect(says).toContain(words);
  });
});

it('takes a record of another installation for one of another issuer', async () => {
  const other = new SmallInstallation();
  const { lot, installation } = issued;
  const { bytes } = await other.render(lot, {
    ...other.issueOf(lot, 1, [other.signed(lot, 'released', 'Rolf')]),
    program: OTHER_PROGRAM,
  });
  const file = written(bytes);
  expect((await asked(file, { key: installation.fingerprint })).answer).toBe('another issuer');
  expect((await asked(file, { key: other.fingerprint })).answer).toBe('as issued');
  expect((await asked(file)).answer).toBe('issuer not compared');
});

it('does not vouch for the pages of a draft that another version drew', async () => {
  const { installation, lot, first } = issued;
  const draft = { ...installation.issueOf(lot, 1, []), seal: null, record: { ...first.issue.record, draft: true } };
  const { bytes } = await installation.render(lot, { ...draft, program: OTHER_PROGRAM }, null);
  const { answer, says } = await asked(written(bytes), { key: installation.fingerprint });
  expect(answer).toBe('another version');
  expect(says).toContain('changes of the pages alone could not be seen, but by that version');
});

it('calls the version of an enclosure that it cannot read a claim, and says what it did not compare', async () => {
  const { lot, first } = issued;
  const enclosed = enclose(contentOf(lot, first.issue));
  const enclosureText = canonicalJson({
    ...JSON.parse(enclosed.enclosureText),
    format: 99,
    program: 'Lotwright 9.0.0',
  });
  const identity = { ...enclosed.identity, enclosure: sha256Hex(enclosureText) };
  const stripped = await renderTwice(identity, (page) => attachFiles(page, { ...enclosed, enclosureText }));
  const { answer, says } = await asked(written(Buffer.from(stripped)));
  expect(answer).toBe('another version');
  expect(says).toContain('It claims that Lotwright 9.0.0 wrote it');
  expect(says).toContain('seal, not checked: there is none, and whether there should be one cannot be read');
  for (const step of ['signatures', 'audit trail', 'first page', 'assessment', 'pages', 'key']) {
    expect(says).toContain(`${step}, not checked: not without the enclosure, which only a later version reads`);
  }
});

/** Numbers below `below` from a seed, the same on every machine (a linear congruence, Numerical Recipes 7.1). */
function* numbers(seed: number, below: number): Generator<number> {
  for (let state = seed; ; ) {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    yield Math.floor((state / 2 ** 32) * below);
  }
}

const LIBRARIES = /qpdf|zod|wasm|piscina|unexpected token|undefined|Cannot read|incorrect header|invalid_|\bat \w+ \(/i;

it('changes of single bytes never break it, never pass, and are told in our words', async () => {
  const { installation } = issued;
  const file = written(elsewhere);
  const next = numbers(15, elsewhere.length);
  const masks = numbers(51, 255);
  const runs = process.env.LOTWRIGHT_TEST_LONG ? 10_000 : 8;
  for (let run = 0; run < runs; run++) {
    const [at, mask] = [next.next().value, masks.next().value + 1];
    fs.writeFileSync(file, flipped(elsewhere, at, mask));
    const { answer, says } = await asked(file, { key: installation.fingerprint });
    expect({ at, mask, answer }).toMatchObject({ answer: expect.stringMatching(/^(altered|saved again|no record)$/) });
    expect(says).not.toMatch(LIBRARIES);
  }
});
