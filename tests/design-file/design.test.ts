import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { redactEvidence } from '../../src/custody/redaction.js';
import { DesignFiles } from '../../src/design-file/design-files.js';
import { evidenceOf, factsIn, foundIn } from '../../src/design-file/paper/content.js';
import { DesignEnclosure, issueOfDesign } from '../../src/design-file/paper/enclosure.js';
import { renderDesign } from '../../src/design-file/paper/render.js';
import { membersOf } from '../../src/design-history/baselines.js';
import { lineName, touchedSha256 } from '../../src/design-history/change-touches.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { findGaps } from '../../src/design-history/find-gaps.js';
import { canonicalJson, digestOf, sha256Hex } from '../../src/dossier/canonical.js';
import { Intake } from '../../src/intake/intake.js';
import { DOCUMENTS_OF_FAMILY } from '../../src/kinds/design-history/history-kinds.js';
import { createApplication } from '../../src/main.js';
import { openPdf } from '../../src/pdf/reading/open-pdf.js';
import { DESIGN_ORDERS } from '../../src/report/design-template.js';
import { isLong } from '../faults/command.js';
import { DESIGN_FILES } from '../support/documents/design-history.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects } from '../support/pdf-objects.js';
import { provedActs } from '../support/people.js';
import { runCommand } from '../support/run-command.js';
import { askingAs, sendForm } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';
import { addDesignHistory } from '../support/whole-history.js';

/** A cell with a whole design history, all of it signed on 2031-03-05. */
let cell: SigningCell;
let app: NestExpressApplication;
/** When all was signed, the baseline too, and nothing revised yet. */
const BEFORE_THE_RECIPE = '2031-03-05T12:30:00Z';

beforeAll(async () => {
  cell = await SigningCell.open(addDesignHistory);
  app = await createApplication(cell.services.store);
});
afterAll(async () => {
  await app.close();
  await cell.close();
});

const take = (document: object) =>
  cell.services.intake.take([{ file: 'made.yaml', document: { ...document } }], 'local:tester');
const design = (...words: string[]) => runCommand(cell.folder.path, ['design', ...words]);

it('finds nothing in a whole history, and leads from the need to its study', async () => {
  const { code, text } = await design('PLATE');
  expect(text).toContain('Design history of family PLATE as of 2031-03-05: no open gap.');
  expect(text).toMatch(/UN-1 +DI-1 +DO-1 +DS-1 +DS-1 +RC-1/);
  expect(code).toBe(0);
});

it('as of a day before it came in there was none; before the family it is not found; ahead it is refused', async () => {
  const before = await design('PLATE', '--as-of', '2031-02-01');
  expect(before.code).toBe(4);
  expect(before.text).toContain('history-missing: device family PLATE');
  expect((await design('PLATE', '--as-of', '2030-01-01')).code).toBe(7);
  expect((await design('SCREW')).code).toBe(7);
  expect(await design('PLATE', '--as-of', '2031-03-06')).toMatchObject({ code: 2 });
  expect(await design('PLATE', '--as-of', 'spring')).toMatchObject({ code: 2 });
});

it('lists what a change touches, and leaves the list of one that was decided as it is', async () => {
  const { code, text } = await design('PLATE', '--touches', 'DC-1');
  expect(code).toBe(0);
  for (const line of ['lot L-1: 2 ', 'study design-study DS-1: rests on lot L-1', 'risk risk-control RC-1']) {
    expect(text).toContain(line);
  }
  expect(await design('PLATE', '--touches', 'DC-1', '--take')).toMatchObject({ code: 5 });
  expect(await design('PLATE', '--touches', 'DC-9')).toMatchObject({ code: 7 });
  const change = Object.values(cell.cell.documents).find(({ kind }) => kind === 'design-change')!;
  const { touches: _, ...open } = { touches: null, ...change, change: 'DC-2', decision: 'open' };
  await take(open);
  expect((await design('PLATE', '--touches', 'DC-2', '--take')).text).toContain('Revision 2 of change DC-2 holds');
  const listed = (await cell.services.store.read.entries.current('design-change', 'DC-2'))!.body.touches!;
  expect(listed.lines.length).toBeGreaterThan(3);
  expect((await design('PLATE')).text).toContain('change-line-open: design change DC-2');
  await take({
    ...{ ...open, revision: 3, decision: 'stop' },
    touches: { ...listed, lines: listed.lines.map((line) => ({ ...line, answer: 'the change is not made' })) },
  });
  await cell.sign('P-PE', 'design-change:DC-2', { meaning: 'performed' });
  await cell.sign('P-QE', 'design-change:DC-2', { meaning: 'approved' });
  expect((await design('PLATE')).code).toBe(0);
});

it('freezes what is approved, which people sign, and refuses the name again', async () => {
  const frozen = await design('PLATE', '--freeze', 'freeze-1');
  expect(frozen.text).toContain('Baseline freeze-1: ');
  expect(frozen.code).toBe(0);
  expect(await design('PLATE', '--freeze', 'freeze-1')).toMatchObject({ code: 5 });
  const { entries } = cell.services.store.read;
  const { body } = (await entries.current('baseline', 'PLATE:freeze-1'))!;
  // The audit trail, replayed up to the entry that it names: of each document the last digest.
  const trail = new Map<string, string>();
  for (const { body: text } of await cell.services.store.read.ledger.page(0, body.asOf.entries)) {
    const entry = JSON.parse(text);
    if (entry.type === 'revision-recorded') trail.set(`${entry.kind} ${entry.key}`, entry.digest);
  }
  expect(body.members.length).toBeGreaterThan(14);
  for (const { kind, key, digest } of body.members) expect([key, trail.get(`${kind} ${key}`)]).toEqual([key, digest]);
  const own = [...trail.keys()].filter((name) => /^(design-|user-need|hazard|risk-control|labelling)/.test(name));
  expect(body.members.map(({ kind, key }) => `${kind} ${key}`)).toEqual(expect.arrayContaining(own));
  expect(body.asOf.root).toBe(await cell.services.store.read.ledger.root(body.asOf.entries));
  await cell.sign('P-PE', 'baseline:PLATE:freeze-1', { meaning: 'performed' });
  await cell.sign('P-QE', 'baseline:PLATE:freeze-1', { meaning: 'approved' });
  expect((await design('PLATE')).text).toContain('approved by P-QE on 2031-03-05, and the design is as it froze it');
});

it('a recipe revised without a design change is a gap the same day, until an approved answer or a change ends it', async () => {
  cell.folder.advanceTo('2031-03-05T13:00:00Z');
  const recipe = Object.values(cell.cell.documents).find(({ kind }) => kind === 'recipe')!;
  await take({ ...recipe, revision: recipe.revision + 1 });
  const { code, text } = await runCommand(cell.folder.path, ['--json', 'design', 'PLATE']);
  expect(code).toBe(4);
  const { gaps, open } = JSON.parse(text);
  expect(open).toBe(1);
  const [gap] = gaps;
  expect(gap).toMatchObject({ rule: 'revision-without-change', subjects: [{ kind: 'recipe', key: 'RC' }] });
  await take({
    ...{ kind: 'gap-answer', format: 1, gap: gap.id, rule: gap.rule, subjects: gap.subjects },
    ...{ justification: 'a misprint was corrected (invented)', until: '2031-04-01' },
    given: { by: 'P-PE', at: '2031-03-05T10:00:00Z' },
  });
  expect((await design('PLATE')).text).toContain('open: nobody has approved its answer');
  await cell.sign('P-PE', `gap-answer:${gap.id}`, { meaning: 'performed' });
  await cell.sign('P-QE', `gap-answer:${gap.id}`, { meaning: 'approved' });
  const answered = await design('PLATE');
  expect(answered.text).toContain('answered by P-PE until 2031-04-01');
  expect(answered.code).toBe(0);
  cell.folder.advanceTo('2031-04-02T08:00:00Z');
  expect((await design('PLATE')).code).toBe(4);
  expect((await design('PLATE', '--as-of', '2031-03-20')).code).toBe(0);
});

it('shows gaps first, the matrix both ways, and each entry with its ties and lots', async () => {
  const page = async (path: string) => (await (await askingAs(app, 'P-QE')).get(path)).text;
  const whole = await page('/design?family=PLATE');
  const places = ['id="gaps"', 'id="forward"', 'id="back"'].map((id) => whole.indexOf(id));
  expect(places).toEqual([...places].sort((a, b) => a - b));
  expect(places[0]).toBeGreaterThan(0);
  expect(whole).toContain('Revised without a design change');
  expect(whole).toMatch(/href="\/design\/entry\?family=PLATE&amp;kind=user-need&amp;key=UN-1">UN-1/);
  expect(whole).toMatch(/key=PLATE%3Afreeze-1">freeze-1<\/a>: \d+ documents as of entry \d+, approved by P-QE on /);
  const study = await page('/design/entry?family=PLATE&kind=design-study&key=DS-1');
  expect(study).toMatch(/What it names[\s\S]*user need UN-1[\s\S]*What names it[\s\S]*risk control RC-1/);
  expect(study).toContain('<a href="/lots/L-1">L-1</a> (DS-1)');
  expect(study).not.toMatch(/undefined|\[object/);
  expect(await page('/design?family=PLATE&asOf=2031-02-01')).toContain('No design history');
  expect(await page('/design?family=NONE')).toContain('NONE');
});

it('tells open gaps and what ends soon on the first page', async () => {
  const today = (await (await askingAs(app, 'P-QE')).get('/')).text.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');
  expect(today).toContain('Design of family PLATE: 1 open gap without a day, 1 for ');
  expect((await (await askingAs(app, 'P-OP')).get('/')).text).not.toContain('Design of family');
});

describe('the file', () => {
  const verified = async (file: string) => {
    const { code, text } = await runCommand(cell.folder.path, ['--json', 'verify', file]);
    const { steps } = JSON.parse(text);
    const broken = steps.filter(({ outcome }: { outcome: string }) => /does not hold|differs/.test(outcome));
    return { code, broken: broken.map(({ code: found }: { code: string }) => found) };
  };
  const written = async (name: string, ...words: string[]) => {
    const file = path.join(cell.folder.path, `${name}.pdf`);
    return { file, ...(await runCommand(cell.folder.path, ['--json', 'design', 'PLATE', '--out', file, ...words])) };
  };

  it('is a draft while a gap is open, and holds with nothing but itself', async () => {
    const { file, code, text } = await written('draft');
    expect(code).toBe(4);
    expect(JSON.parse(text)).toMatchObject({ draft: true, number: 'DH-PLATE' });
    expect(await verified(file)).toEqual({ code: 0, broken: [] });
    expect(execFileSync('qpdf', ['--check', file]).toString()).toContain('No syntax or stream encoding errors found');
    expect(checkPdf(PdfObjects.read(fs.readFileSync(file)))).toEqual([]);
    const said = execFileSync('pdftotext', ['-layout', file, '-']).toString();
    for (const words of [
      'Open, by who has to see to it',
      'UN-1: Holds until healed',
      'By each value it holds',
      'L-1 L-1-W1',
    ]) {
      expect(said).toContain(words);
    }
    expect(said).not.toMatch(/undefined|\[object/);
    // Files as received are in it, each under the digest that its document names.
    const { contents } = await openPdf(file);
    const received = [...contents.attachments].filter(([name]) => name.startsWith('evidence-'));
    expect(received.map(([, bytes]) => Buffer.from(bytes).toString('utf8')).sort()).toEqual(
      Object.values(DESIGN_FILES)
        .filter((one) => !one.startsWith('software'))
        .sort(),
    );
    expect(said).toMatch(/report: protocol\.txt, attached/);
  });

  it('as of a day without a gap is sealed, in whatever order its sections stand', async () => {
    for (const order of isLong ? DESIGN_ORDERS : ['design-annex-ii']) {
      const { file, code, text } = await written(order, '--as-of', BEFORE_THE_RECIPE, '--order', order);
      expect([code, JSON.parse(text)]).toMatchObject([0, { draft: false, open: 0 }]);
      expect(await verified(file)).toEqual({ code: 0, broken: [] });
    }
  });

  const forger = async (file: string) => {
    const { contents } = await openPdf(file);
    const textIn = (name: string) => Buffer.from(contents.attachments.get(name)!).toString('utf8');
    const [designText, templateText] = [textIn('design-history.json'), textIn('record-template.yaml')];
    const enclosure = DesignEnclosure.parse(JSON.parse(textIn('enclosure.json')));
    // biome-ignore lint/suspicious/noExplicitAny: forged at any depth
    return async (name: string, change: (design: any, issue: any, files: Map<string, Uint8Array>) => void) => {
      const design = JSON.parse(designText);
      const issue = structuredClone(issueOfDesign(enclosure));
      const files = new Map(contents.attachments);
      change(design, issue, files);
      const evidence = evidenceOf(design, files);
      const made = await renderDesign({ designText: canonicalJson(design), templateText, evidence, issue });
      const forgery = path.join(cell.folder.path, `${name}.pdf`);
      fs.writeFileSync(forgery, made.pdf);
      return verified(forgery);
    };
  };
  // biome-ignore lint/suspicious/noExplicitAny: forged at any depth
  const named = (design: any, kind: string) => design.revisions.findLast((one: any) => one.kind === kind);

  it('as a draft has no seal, and nobody answers its gap or takes a document out of it all the same', async () => {
    const forged = await forger((await written('whole')).file);
    // biome-ignore lint/suspicious/noExplicitAny: forged at any depth
    const walkAgain = (design: any) => {
      const facts = factsIn(design);
      design.found = foundIn(new DesignIndex(facts), findGaps(facts));
      expect(design.found.gaps.filter(({ state }: { state: string }) => state !== 'answered')).toEqual([]);
    };
    const answered = await forged('answered', (design) => {
      const answer = named(design, 'gap-answer');
      const approval = { by: 'P-QE', at: '2031-03-05T10:00:00Z', original: 'elsewhere' };
      const { until: _, ...body } = { ...answer.body, approval };
      const approved = { approvedBy: approval.by, approvedAt: approval.at, authors: [] };
      design.revisions.push({ ...answer, ...approved, revision: 2, body, digest: digestOf(body) });
      walkAgain(design);
    });
    expect(answered).toEqual({ code: 6, broken: ['not of its writer'] });
    const withdrawn = await forged('withdrawn', (design) => {
      named(design, 'recipe').withdrawn = true;
      const supplier = named(design, 'supplier');
      Object.assign(supplier.body, { title: 'another' });
      supplier.digest = digestOf(supplier.body);
      walkAgain(design);
    });
    expect(withdrawn).toEqual({ code: 6, broken: ['not proven', 'not proven'] });
    const swapped = await forged('swapped', ({ evidence }) => {
      const [one, other] = evidence.filter(({ carriedAs }: { carriedAs: string | null }) => carriedAs !== null);
      [one.carriedAs, other.carriedAs] = [other.carriedAs, one.carriedAs];
    });
    expect(swapped).toMatchObject({ code: 6, broken: expect.arrayContaining(['attachment not named']) });
    // biome-ignore lint/suspicious/noExplicitAny: forged at any depth
    const firstCarried = ({ evidence }: any) => {
      const { carriedAs } = evidence.find((one: { carriedAs: string | null }) => one.carriedAs !== null);
      return evidence.filter((one: { carriedAs: string | null }) => one.carriedAs === carriedAs);
    };
    const replaced = await forged('replaced', (design, _, files) => {
      const bytes = Buffer.from('another result (invented)\n');
      for (const one of firstCarried(design)) {
        files.set(one.carriedAs, bytes);
        Object.assign(one, { sha256: sha256Hex(bytes), bytes: bytes.length });
      }
    });
    expect(replaced).toEqual({ code: 6, broken: ['not proven'] });
    const hidden = await forged('hidden', (design) => {
      for (const one of firstCarried(design)) Object.assign(one, { carriedAs: null, why: 'removed' });
    });
    expect(hidden).toEqual({ code: 6, broken: ['not proven'] });
    const large = await forged('large', (design, _, files) => {
      const carried = firstCarried(design);
      files.delete(carried[0].carriedAs);
      for (const one of carried) Object.assign(one, { carriedAs: null, why: 'too large' });
    });
    expect(large).toEqual({ code: 6, broken: ['left out without need'] });
  });

  it.runIf(isLong)('names whatever was forged in it', async () => {
    const { file } = await written('whole');
    const forged = await forger(file);
    expect(await forged('gap', ({ found }) => found.gaps.splice(0))).toEqual({ code: 6, broken: ['design otherwise'] });
    expect(await forged('text', (design) => Object.assign(named(design, 'user-need').body, { text: 'less' }))).toEqual({
      ...{ code: 6, broken: ['document spoilt'] },
    });
    const digest = await forged('digest', (design) => {
      const need = named(design, 'user-need');
      Object.assign(need.body, { text: 'less' });
      need.digest = digestOf(need.body);
    });
    expect(digest).toEqual({ code: 6, broken: ['not proven', 'not as signed'] });
    expect(
      await forged('approval', (design) => Object.assign(named(design, 'hazard'), { approvedBy: 'P-PE' })),
    ).toEqual({
      ...{ code: 6, broken: ['not as signed'] },
    });
    const value = await forged('value', ({ studied }) => {
      studied[0].values.find((one: { characteristic: string }) => one.characteristic === 'rm').value = '100';
    });
    expect(value).toEqual({ code: 6, broken: ['design otherwise'] });
    const other = await forged('other', ({ found }, issue) => {
      found.gaps.splice(0);
      issue.program = 'Lotwright 9.9.9 (build 000000000000)';
    });
    expect(other).toMatchObject({ code: 8, broken: ['other rules on designs'] });
    const bytes = fs.readFileSync(file);
    bytes[Math.floor(bytes.length / 2)]! ^= 1;
    const flipped = path.join(cell.folder.path, 'flipped.pdf');
    fs.writeFileSync(flipped, bytes);
    expect((await verified(flipped)).code).toBe(6);
  });
});

it('names a file by its digest alone that two people removed, and proves that they did', async () => {
  const [, protocol] = Object.entries(DESIGN_FILES).find(([name]) => name.endsWith('protocol.txt'))!;
  await provedActs(cell.services).giveRole('P-AD', 'P-RE', 'regulatory');
  const people = [await cell.prove('P-QE'), await cell.prove('P-RE')] as const;
  await redactEvidence(cell.services.store, sha256Hex(String(protocol)), people, 'it names a patient (invented)');
  const file = path.join(cell.folder.path, 'removed.pdf');
  await design('PLATE', '--out', file);
  const { contents } = await openPdf(file);
  const { evidence } = JSON.parse(Buffer.from(contents.attachments.get('design-history.json')!).toString('utf8'));
  const removed = evidence.filter(({ why }: { why: string | null }) => why === 'removed');
  expect(removed).toEqual([expect.objectContaining({ sha256: sha256Hex(String(protocol)), carriedAs: null })]);
  const said = execFileSync('pdftotext', ['-layout', file, '-']).toString().replaceAll(/\s+/g, ' ');
  expect(said).toContain('The audit trail proves that the cell received each of these files');
  expect((await runCommand(cell.folder.path, ['verify', file])).code).toBe(0);
});

it('is as of a past day what was frozen then, whatever came since, and says what did', async () => {
  const asOf = async (time: string) =>
    JSON.parse((await runCommand(cell.folder.path, ['--json', 'design', 'PLATE', '--as-of', time])).text).members;
  const { body } = (await cell.services.store.read.entries.current('baseline', 'PLATE:freeze-1'))!;
  const need = Object.values(cell.cell.documents).find(({ kind }) => kind === 'user-need')!;
  cell.folder.advanceTo('2031-04-03T08:00:00Z');
  await take({ ...need, revision: 2, text: 'the plate holds until the bone carries all by itself' });
  expect(await asOf(BEFORE_THE_RECIPE)).toEqual(body.members);
  for (const later of ['2031-03-05', '2031-04-03']) expect(await asOf(later)).not.toEqual(body.members);
  expect(await design('PLATE', '--freeze', 'freeze-2')).toMatchObject({
    code: 5,
    text: expect.stringContaining('user need UN-1 revision 2'),
  });
  const compared = await design('PLATE', '--compare', 'freeze-1');
  expect(compared.text).toContain('revised: user need UN-1, from revision 1 to 2');
  expect(compared.text).toMatch(/text: was "the plate holds until the bone carries by itself", now ".* all by itself"/);
  expect(await design('PLATE', '--compare', 'NONE')).toMatchObject({ code: 7 });
  expect(await design('PLATE', '--with', 'freeze-1')).toMatchObject({ code: 2 });
  const page = await (await askingAs(app, 'P-QE')).get('/design/compare?family=PLATE&from=freeze-1&to=');
  expect(page.text).toContain('User need UN-1, from revision 1 to 2');
});

it('is at every entry of the audit trail what a replay of the trail up to there comes to', async () => {
  const { store, stateActs } = cell.services;
  const hazard = Object.values(cell.cell.documents).find(({ kind }) => kind === 'hazard')!;
  await stateActs.withdrawDocument(
    await cell.prove('P-QE'),
    { kind: 'hazard', key: hazard.hazard, revision: 1 },
    'it is another one (invented)',
  );
  const designs = new DesignFiles(store);
  const size = await store.read.ledger.size();
  const moment = store.clock.now().getTime();
  const latest = new Map<string, string>();
  const isOwn = ({ kind, key }: { kind: string; key: string }) =>
    (DOCUMENTS_OF_FAMILY as readonly string[]).includes(kind) || (kind === 'family' && key === 'PLATE');
  const seen = new Set<string>();
  for (const { body: text } of await store.read.ledger.page(0, size)) {
    const entry = JSON.parse(text);
    const named =
      entry.type === 'revision-recorded' ? entry : entry.event === 'document-withdrawn' ? entry.subject : {};
    const name = `${named.kind} ${named.key}`;
    if (entry.type === 'revision-recorded') latest.set(name, entry.digest);
    else if (entry.event === 'document-withdrawn') latest.delete(name);
    if (!isOwn(named) || !latest.has('family PLATE')) continue;
    const facts = await designs.of('PLATE', { size: entry.seq, moment, day: '2031-04-03' });
    const members = membersOf(new DesignIndex(facts));
    for (const { kind, key, digest } of members) expect([name, digest]).toEqual([name, latest.get(`${kind} ${key}`)]);
    const own = [...latest.keys()].filter((one) => isOwn({ kind: one.split(' ')[0]!, key: one.split(' ')[1]! }));
    expect(members.filter(isOwn).map(({ kind, key }) => `${kind} ${key}`)).toEqual(own.sort());
    seen.add(canonicalJson(own));
  }
  expect(seen.size).toBeGreaterThan(12);
  // Who was approved for what the specification does not name belongs to other designs.
  const supplier = Object.values(cell.cell.documents).find(({ kind }) => kind === 'supplier')!;
  const approvals = [{ ...supplier.approvals[0], scope: 'titanium wire (invented)' }];
  await take({ ...supplier, supplier: 'S-ELSEWHERE', approvals });
  const { revisions } = await designs.of('PLATE');
  expect(revisions.filter(({ kind }) => kind === 'supplier').map(({ key }) => key)).toEqual([supplier.supplier]);
});

it('lets people list, answer and decide on the page of a change, and closes it only when each line has an answer', async () => {
  const change = Object.values(cell.cell.documents).find(({ kind }) => kind === 'design-change')!;
  const { touches: _, ...open } = { touches: null, ...change, change: 'DC-3', decision: 'open' };
  await take(open);
  const ask = await askingAs(app, 'P-QE');
  const here = '/design/change?family=PLATE&change=DC-3';
  const page = async () => (await ask.get(here)).text.replaceAll(/\s+/g, ' ');
  const send = (act: string, fields: object) =>
    sendForm(ask, `/design/change/${act}`, { family: 'PLATE', change: 'DC-3', ...fields });
  expect(await page()).toContain('Nobody listed it yet.');
  expect(await page()).not.toContain('It is made</button>');
  expect((await send('list', {})).status).toBe(303);
  const listed = await page();
  expect(listed).toMatch(/Lines have no answer yet\. 0 of \d+ lines answered\./);
  expect(listed).toMatch(/<a href="\/lots\/L-1">lot L-1<\/a><\/th><td [^>]*>2 [^<]*<\/td><td [^>]*><strong>none yet/);
  expect(listed).not.toMatch(/undefined|\[object/);
  expect(listed).toContain('/design/entry?family=PLATE&amp;kind=design-study&amp;key=DS-1');
  const lines = listed.match(/name="answers"/g)!.length;
  expect(lines).toBe(4);
  // Nobody decides to make it before each line has an answer, whatever is sent.
  const early = await send('decide', { revision: 2, decision: 'go' });
  expect(early.text).toContain('cannot be decided to be made yet (lines have no answer yet)');
  const current = async () => (await cell.services.store.read.entries.current('design-change', 'DC-3'))!;
  const names = (await current()).body.touches!.lines.map(lineName);
  const none = await send('answer', { revision: 2, lines: names, answers: names.map(() => ' ') });
  expect(none.text).toContain('say what follows for one of the lines');
  const other = await send('answer', { revision: 2, lines: ['lot L-9: 2 in stock'], answers: ['sold'] });
  expect(other.text).toContain('lot L-9: 2 in stock');
  expect((await current()).revision).toBe(2);
  const [first, , third] = names;
  // Two people look at revision 2, and the other one is quicker.
  expect((await send('answer', { revision: 2, lines: names, answers: ['tested again', '', '', ''] })).status).toBe(303);
  expect(await page()).toMatch(new RegExp(`1 of ${lines} lines answered`));
  const late = await sendForm(await askingAs(app, 'P-PE'), '/design/change/answer', {
    ...{ family: 'PLATE', change: 'DC-3', revision: 2, lines: names },
    answers: ['told by telephone', '', 'kept in the form', ''],
  });
  expect(late.text).toContain('has revision 3 now, and you looked at revision 2');
  const fields = late.text.split('<div class="field">').slice(1);
  expect(fields.map((field) => />([^<]*)<\/textarea>/.exec(field)![1])).toEqual(['', 'kept in the form', '']);
  expect(fields[1]).toContain(`name="lines" value="${third}"`);
  expect(late.text).toContain(`Your answer to &quot;${first}&quot; is not in the form any more`);
  expect(late.text).toContain('You wrote: told by telephone');
  const rest = names.slice(1);
  const answers = rest.map(() => 'nothing follows');
  expect((await send('answer', { revision: 3, lines: rest, answers })).status).toBe(303);
  expect(await page()).toContain('Each line has an answer: it can be decided.');
  const { body } = (await cell.services.store.read.entries.current('design-change', 'DC-3'))!;
  expect(body.touches!.lines.map(({ answer }) => answer)).toEqual([
    'tested again',
    ...Array(lines - 1).fill('nothing follows'),
  ]);
  expect(touchedSha256(body.touches!.lines)).toBe(body.touches!.sha256);
  // What came since the list was frozen has no answer in it.
  const control = Object.values(cell.cell.documents).find(({ kind }) => kind === 'risk-control')!;
  await take({ ...control, control: 'RC-2' });
  expect(await page()).toContain('more came since its list was frozen: list again');
  expect(await page()).not.toContain('It is made</button>');
  const soon = await send('decide', { revision: 4, decision: 'go' });
  expect(soon.text).toContain('since its list was frozen came risk risk-control RC-2');
  expect((await send('list', {})).status).toBe(303);
  const came = (await current()).body.touches!.lines.filter(({ answer }) => answer === undefined).map(lineName);
  expect(came).toEqual([expect.stringContaining('risk risk-control RC-2')]);
  expect((await send('answer', { revision: 5, lines: came, answers: 'nothing follows' })).status).toBe(303);
  // Something comes after the last look, and right before the decision is stored.
  const intake = app.get(Intake);
  const takes = intake.take.bind(intake);
  vi.spyOn(intake, 'take').mockImplementationOnce(async (...given) => {
    await take({ ...control, control: 'RC-3' });
    return takes(...given);
  });
  const between = await send('decide', { revision: 6, decision: 'go' });
  expect(between.text).toContain('since its list was frozen came risk risk-control RC-3');
  expect(await current()).toMatchObject({ revision: 6, body: { decision: 'open' } });
  expect((await send('list', {})).status).toBe(303);
  const since = (await current()).body.touches!.lines.filter(({ answer }) => answer === undefined).map(lineName);
  expect((await send('answer', { revision: 7, lines: since, answers: 'nothing follows' })).status).toBe(303);
  expect((await send('decide', { revision: 8, decision: 'go' })).status).toBe(303);
  expect(await page()).toContain('Decided, and not approved yet.');
  expect((await send('decide', { revision: 9, decision: 'stop' })).text).toContain('was decided already');
  await cell.sign('P-PE', 'design-change:DC-3', { meaning: 'performed' });
  await cell.sign('P-QE', 'design-change:DC-3', { meaning: 'approved' });
  expect(await page()).toContain('Closed: each line has an answer, and the decision is approved.');
  expect((await ask.get('/design?family=PLATE')).text).toMatch(/change=DC-3">DC-3<\/a>[^<]*Closed/);
  expect((await (await askingAs(app, 'P-OP')).get(here)).status).toBe(200);
  expect((await ask.get('/design/change?family=PLATE&change=DC-9')).status).toBe(404);
});
