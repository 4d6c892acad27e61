import { generateKeyPairSync } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { checksFor } from '../../src/assessment/checks/catalogue.js';
import { successionText } from '../../src/ledger/key-chain.js';
import { readPdf } from '../../src/pdf/reading/read-pdf.js';
import type { PublicKey, RecordIssue } from '../../src/records/enclosure.js';
import { enclose } from '../../src/records/render-record.js';
import { certificateLines } from '../../src/report/certificate-lines.js';
import { CHECK_PHRASES } from '../../src/report/phrases/checks/catalogue.js';
import { Carried, type Json } from '../support/by-note/carried.js';
import { certificateLines as linesByNote } from '../support/by-note/checks-of-materials.js';
import { disagreements } from '../support/by-note/compare.js';
import { type IssuedLot, issuedLot } from '../support/issued-lot.js';
import { noteBy, TestPerson } from '../support/person-keys.js';
import { contentOf } from '../support/record-content.js';
import { SmallInstallation } from '../support/sealed-record.js';

let issued: IssuedLot;
let attachments: ReadonlyMap<string, Uint8Array>;
beforeAll(async () => {
  issued = await issuedLot();
  ({ attachments } = await readPdf(issued.first.bytes));
});

/** What a stranger reads of the record, with one attachment changed. */
function carried(name?: string, change: (value: Json) => void = () => {}): Carried {
  if (name === undefined) return new Carried(attachments);
  const value: Json = JSON.parse(Buffer.from(attachments.get(name)!).toString('utf8'));
  change(value);
  return new Carried(new Map([...attachments, [name, Buffer.from(JSON.stringify(value))]]));
}

const TOLD = { lot: 'L-1', units: ['L-1-I1'], at: '2031-05-04T09:30:00.000Z', reason: 'dust', entry: 9 };
const HELD = noteBy(new TestPerson('Rolf', 'Rolf Example'), 'hold-placed', TOLD);
const FORGED = noteBy(new TestPerson('Rolf', 'Rolf Example', 'of an intruder'), 'hold-placed', TOLD);

describe('the note for strangers', () => {
  it('suffices to compute everything in the record again, by a script that was written from it', () => {
    const record = carried();
    expect(record.assessment.checks.length).toBeGreaterThan(30);
    expect(record.enclosure.ledger.proofs.length).toBeGreaterThan(5);
    expect(disagreements(record)).toEqual([]);
  });

  it('leads through what befell the lot by the word of a person', () => {
    const record = carried('enclosure.json', (enclosure) => {
      enclosure.states = [HELD, { ...HELD, signed: undefined, cause: { kind: 'complaint', key: 'C-1', revision: 1 } }];
    });
    expect(disagreements(record)).toEqual([]);
  });

  it('leads to how each line of a certificate stands', () => {
    const { facts } = issued.lot;
    const record = carried();
    const receipts = [...facts.receipts.values()].map(({ body }) => body).filter(({ certificate }) => certificate);
    expect(receipts.length).toBeGreaterThan(0);
    for (const receipt of receipts) {
      const stated = certificateLines(facts, receipt).map(({ property, outcome }) => ({ property, outcome }));
      expect(linesByNote(record, record.pinned('receipt', receipt.receipt).body)).toEqual(stated);
    }
  });

  it.each<[string, string, (value: Json) => void, RegExp]>([
    [
      'a value',
      'assessment.json',
      ({ characteristics }) => (characteristics[0].verdict = 'does not conform'),
      /^rm of /,
    ],
    ['a check', 'assessment.json', ({ checks }) => (checks[3].outcome = 'fails'), /^check /],
    [
      'an implant',
      'assessment.json',
      ({ units }) => (units[0].verdict = 'conforms'),
      /^L-1-I1: cannot be decided where conforms/,
    ],
    ['a statement', 'enclosure.json', ({ signatures }) => (signatures[0].statement.reason = 'x'), /^not signed/],
    [
      'what befell the lot before somebody signed',
      'enclosure.json',
      ({ signatures }) => signatures[1].statement.beside.push({ kind: 'course', digest: '0'.repeat(64) }),
      /^left out: before /,
    ],
    [
      'when somebody signed',
      'enclosure.json',
      ({ signatures }) => (signatures[1].statement.at = '2031-05-04T08:00:00Z'),
      /^not signed then: /,
    ],
    ['an act', 'enclosure.json', (record) => (record.states = [{ ...HELD, reason: 'x' }]), /^not signed: hold-placed/],
    ['who acted', 'enclosure.json', (record) => (record.states = [{ ...HELD, by: 'person:Ada' }]), /^not signed: hold/],
    ['a person', 'enclosure.json', (record) => (record.states = [FORGED]), /^not signed: hold-placed/],
    ['a first page', 'enclosure.json', ({ summaries }) => (summaries[0].text += ' '), /^first page/],
    ['an entry', 'enclosure.json', ({ ledger }) => (ledger.proofs[2].seq = 2), /^not proven: entry 2/],
    ['the head', 'enclosure.json', ({ ledger }) => (ledger.size += 1), /^head: another head/],
    ['a key', 'enclosure.json', ({ keys }) => (keys[0].publicPem = anotherKey()), /^not of the chain/],
    ['a document', 'dossier.json', ({ pinned }) => (pinned[0].body.title = 'other'), /^altered: /],
  ])('tells when %s is stated otherwise', (_, name, change, found) => {
    expect(disagreements(carried(name, change))).toContainEqual(expect.stringMatching(found));
  });

  it('leads through keys that followed each other, and over what an earlier record stood on', () => {
    const { lot, first } = issued;
    const [own, before] = [issued.installation, new SmallInstallation()];
    const text = successionText({ replaces: before.fingerprint, fingerprint: own.fingerprint });
    const [endorsement, acceptance] = [before, own].map((one) => one.sign(text).toString('base64'));
    const issue = own.issueOf(lot, 2, []);
    const [key] = issue.keys;
    const record = (succession: Partial<PublicKey>, earlier = own.earlier(first)) =>
      enclosed(lot, {
        ...issue,
        keys: [
          { ...key!, replaces: before.fingerprint, endorsement, acceptance, ...succession },
          { fingerprint: before.fingerprint, publicPem: before.publicPem },
        ],
        // A head names the folder by the first key.
        ledger: { ...issue.ledger, checkpoint: null },
        earlier: [earlier],
      });
    expect(disagreements(record({}))).toEqual([]);
    const itself = own.sign(text).toString('base64');
    expect(disagreements(record({ endorsement: itself }))).toEqual([`not of the chain: ${own.fingerprint}`]);
    const rewritten = { ...own.earlier(first), root: 'ab'.repeat(32) };
    expect(disagreements(record({}, rewritten))).toEqual(['rewritten since LR-L-1']);
  });

  it('has one paragraph for each check, in lines that a terminal shows whole', () => {
    const note = carried().text('how-to-recompute.txt');
    for (const { code } of checksFor([])) {
      const { recompute, rules } = CHECK_PHRASES[code];
      expect(note.split(`\n  ${code}: `)).toHaveLength(2);
      // Each rule of a check is named there, in its words.
      const text = recompute.replace(/\s+/g, ' ');
      for (const rule of Object.keys(rules)) expect([code, rule, names(text, rule)]).toEqual([code, rule, true]);
    }
    expect(note.split('\n').filter((line) => line.length > 140)).toEqual([]);
  });
});

/** What a record carries that is issued in this way. */
function enclosed(lot: IssuedLot['lot'], issue: RecordIssue): Carried {
  const { files, enclosureText } = enclose(contentOf(lot, issue));
  const texts = [...files.map(({ name, text }) => [name, text] as const), ['enclosure.json', enclosureText] as const];
  return new Carried(new Map(texts.map(([name, text]) => [name, Buffer.from(text)])));
}

/** Three rules of machines differ in a word; those of people and calibrations stand before all checks. */
const names = (text: string, rule: string): boolean =>
  text.includes(`"${rule}"`) ||
  /maintenance|leak test|power check|^qualif|^not qualified|calibration|tolerance|overdue/.test(rule);

const anotherKey = (): string =>
  generateKeyPairSync('ed25519').publicKey.export({ type: 'spki', format: 'pem' }).toString();

it('is followed by a script that shares nothing with the program', () => {
  const folder = path.resolve('tests/support/by-note');
  for (const name of fs.readdirSync(folder)) {
    const imports = [...fs.readFileSync(path.join(folder, name), 'utf8').matchAll(/from '([^']+)'/g)].map(
      ([, from]) => from,
    );
    expect([name, imports.filter((from) => !/^(?:node:|\.\/)/.test(from!))]).toEqual([name, []]);
  }
});
