import { vi } from 'vitest';
import { MOST } from '../../src/base/limits.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { KINDS } from '../../src/kinds/catalogue.js';
import { CurrentAssessments } from '../../src/lots/current-assessments.js';
import { Drafts } from '../../src/people/drafts.js';
import { formNumber } from '../../src/web/form-once.js';
import { everyAdvice } from '../support/advice.js';
import { saidOn } from '../support/seat.js';
import { type Asking, sendForm, startTestService, type TestService } from '../support/service.js';

let service: TestService;
let operator: Asking;
beforeAll(async () => {
  service = await startTestService();
  operator = await service.as('P-OP');
});
afterAll(() => service.close());

const AT = '2031-03-03T08:00:00+01:00';
const RECEIPT = {
  receipt: 'R-77',
  supplier: 'S1',
  material: 'Mg-Zn-Ca',
  category: 'powder',
  supplierLot: 'PL-77',
  massG: '5000,5',
  receivedAt: AT,
  status: 'quarantine',
};

/** The address that the form of a page is sent to. */
const addressIn = (html: string): string => /<form method="post" action="(\/enter\/[^"]+)"/.exec(html)![1]!;

async function begin(kind: string, ask = operator): Promise<string> {
  const { status, text } = await ask.get(`/enter/${kind}`);
  expect(status).toBe(200);
  return addressIn(text);
}

function send(
  address: string,
  fields: Readonly<Record<string, string>>,
  action = 'check',
  ask: Pick<Asking, 'post'> = operator,
) {
  const sending = ask.post(address).field(':do', action);
  for (const [name, value] of Object.entries(fields)) sending.field(name, value);
  return sending;
}

const storedReceipt = (key: string) => service.services.store.read.entries.current('receipt', key);

it('lists every kind once, and begins its form without keeping anything', async () => {
  const { text } = await operator.get('/enter');
  const kinds = [...text.matchAll(/<a href="\/enter\/([a-z-]+)"/g)].map((match) => match[1]);
  expect(kinds).toHaveLength(KINDS.length);
  expect(new Set(kinds).size).toBe(KINDS.length);
  for (const kind of ['lot', 'specification', 'exposure']) expect(await begin(kind)).toContain(`/enter/${kind}/`);
  expect(await service.services.store.read.drafts.ofPerson('P-OP')).toEqual([]);
});

it('enters a receipt with its certificate: rows, a decimal comma, the check, and one store', async () => {
  const address = await begin('receipt');
  const certificate = {
    'certificate.number': 'C-77',
    'certificate.type': '3.1',
    'certificate.issued': '2031-03-01',
    'certificate.transcribedBy': 'P-OP',
  };
  const more = await send(address, { ...RECEIPT, ...certificate }, 'more:certificate.lines');
  expect(more.headers.location).toBe(`${address}#certificate-lines-0-`);
  const again = await operator.get(address);
  expect(again.text).toContain('name="certificate.lines[0].property"');
  expect(again.text).toContain('value="5000,5"');

  const line = {
    'certificate.lines[0].property': 'Fe',
    'certificate.lines[0].value': '12,5',
    'certificate.lines[0].ucum': '[ppm]',
  };
  // As a browser does: the button stands behind the files.
  const checked = await send(address, { ...RECEIPT, ...certificate, ...line }, 'nothing')
    .attach('file:certificate.file', Buffer.from('%PDF-1.7 as received'), 'C-77.pdf')
    .field(':do', 'check');
  expect(checked.status, checked.text).toBe(303);
  const page = await operator.get(checked.headers.location!);
  for (const said of ['5000.5 g', '12.5', 'C-77.pdf', 'Ovid Example']) expect(page.text).toContain(said);
  for (const { text } of [page, await operator.get(address)])
    expect(text).toContain(`<iframe src="${address}/files/C-77.pdf#`);
  expect(await storedReceipt('R-77')).toBeUndefined();

  const number = formNumber();
  const stored = await sendForm(operator, `${address}/store`, {}, number);
  expect(stored.status).toBe(303);
  expect((await operator.get(stored.headers.location!)).text).toContain('R-77');
  const repeated = await sendForm(operator, `${address}/store`, {}, number);
  expect(repeated.headers.location).toBe(stored.headers.location);
  const { body } = (await storedReceipt('R-77'))!;
  expect(body).toMatchObject({ massG: '5000.5', certificate: { file: 'C-77.pdf', lines: [{ value: '12.5' }] } });
  expect((await operator.get(address)).status).toBe(404);
});

it('shows a scan beside the form to whoever chose it, as what its first bytes say, and lets nothing run in it (ASVS 12.5.2)', async () => {
  const address = await begin('receipt');
  const png = Buffer.from('89504e470d0a1a0a0000', 'hex');
  const kept = await send(address, RECEIPT, 'nothing')
    .attach('file:certificate.file', png, 'Zeugnis 1, Größe.png')
    .field(':do', 'keep:scans');
  expect(kept.headers.location).toBe(`${address}#scans`);
  const shown = `${address}/files/${encodeURIComponent('Zeugnis 1, Größe.png')}`;
  expect((await operator.get(address)).text).toContain(`<img src="${shown}"`);
  const file = await operator.get(shown);
  expect([file.status, file.headers['content-type'], Buffer.from(file.body)]).toEqual([200, 'image/png', png]);
  expect(file.headers['content-security-policy']).toBe("default-src 'none'; sandbox; frame-ancestors 'self'");
  expect(file.headers['content-disposition']).toMatch(/^inline/);
  expect((await service.ask.get(shown)).status).toBe(404);
  await send(address, RECEIPT, 'nothing')
    .attach('file:certificate.file', Buffer.from('<script>alert(1)</script>'), 'page.pdf')
    .field(':do', 'keep:scans');
  const disguised = await operator.get(`${address}/files/page.pdf`);
  expect([disguised.status, disguised.text]).toEqual([403, expect.stringContaining('no picture and no PDF')]);
});

it('shows the certificate on record beside the next revision, until another is chosen', async () => {
  const { text } = await operator.get('/enter/receipt?of=R-77');
  const [, href] = /<iframe src="([^"#]+)#/.exec(text)!;
  expect(href).toMatch(/^\/evidence\/[0-9a-f]{64}\/shown$/);
  const { headers, body } = await operator.get(href!);
  expect([headers['content-type'], Buffer.from(body).toString()]).toEqual(['application/pdf', '%PDF-1.7 as received']);
});

it('shows all problems at once, each with a link to its field, and keeps what was typed', async () => {
  const address = await begin('receipt');
  const { status, text } = await send(address, {
    ...RECEIPT,
    receipt: 'R 78',
    massG: '1.234,5',
    supplier: 'S-NONE',
    receivedAt: 'yesterday',
    colour: 'red',
    category: '',
  });
  expect(status).toBe(400);
  const links = [...text.matchAll(/<li><a href="#([^"]+)">([^<]+)</g)];
  expect(links.map(([, id]) => id)).toEqual(['receipt', 'category', 'massG', 'receivedAt']);
  for (const [, id] of links) expect(text).toMatch(new RegExp(`id="${id}"[^>]*aria-invalid="true"`));
  expect(text).toContain('>Category: nothing yet, and it is needed<');
  expect(text).toContain('value="1.234,5"');
  expect(text).toContain('colour: found a field that this form does not have');
  expect(await storedReceipt('R 78')).toBeUndefined();
  // What only the store knows is told once the document is one.
  const known = await send(address, { ...RECEIPT, receipt: 'R-78', supplier: 'S-NONE' });
  expect(known.text).toContain('href="#supplier"');
});

it('takes a moment as the clocks of the place show it, and leaves one that nobody touched as it was', async () => {
  const address = await begin('receipt');
  const { receivedAt: _, ...others } = RECEIPT;
  const local = { 'receivedAt:local': '2031-03-03T08:15' };
  const { headers } = await send(address, { ...others, receipt: 'R-79', ...local });
  expect((await operator.get(headers.location!)).text).toContain('2031-03-03 08:15 (UTC+00:00)');
  expect((await operator.get(address)).text).toMatch(
    /name="receivedAt:local" type="datetime-local"[^>]* value="2031-03-03T08:15"/,
  );
  await sendForm(operator, `${address}/store`, {});
  expect((await storedReceipt('R-79'))!.body.receivedAt).toBe('2031-03-03T08:15:00+00:00');
  // What the form was shown with an offset of elsewhere keeps it.
  const again = await begin('receipt?of=R-79');
  await send(again, {
    ...others,
    receipt: 'R-79',
    'receivedAt:was': AT,
    'receivedAt:local': '2031-03-03T07:00',
    reason: 'a try',
  });
  expect((await operator.get(again)).text).toContain(`name="receivedAt:was" value="${AT}"`);
});

it('offers the codes that are known, by their kind', async () => {
  const { text } = await operator.get('/enter/receipt');
  expect(text).toMatch(/name="supplier"[^>]*list="known-supplier"|list="known-supplier"[^>]*name="supplier"/);
  expect(text).toMatch(/<datalist id="known-supplier">\s*<option value="S1">/);
  expect(text).not.toContain('list="known-receipt"');
});

it('folds what is filled in of a long form, opens it where something is wrong, and leads to its parts', async () => {
  const { text } = await operator.get('/enter/lot?of=L-1');
  expect(text).toMatch(/<li><a href="#implants">Implants \(\d+\)</);
  expect(text).toContain('<details><summary>');
  expect(text).not.toContain('<details open>');
  const at = addressIn(text);
  const row = { 'implants[0].serial': 'A B', 'implants[0].build': 'M1-1', 'implants[0].case': 'K-1' };
  expect((await send(at, { lot: 'L-1', ...row })).text).toMatch(/<details open><summary>A B, K-1, M1-1</);
});

it('makes the next revision of an instrument: filled in, with the files that it has', async () => {
  const address = '/enter/instrument?of=I-RIG';
  expect((await operator.get('/find?id=I-RIG')).text).toContain(`href="${address}"`);
  const { text } = await operator.get(address);
  const fields = Object.fromEntries(
    [...text.matchAll(/<input[^>]*? name="([^":]+)"[^>]*? value="([^"]*)"/g)].map((match) => [match[1]!, match[2]!]),
  );
  expect(fields).toMatchObject({ instrument: 'I-RIG' });
});

describe('what others store while somebody fills a form in', () => {
  const titleOf = async (code: string) =>
    (await service.services.store.read.entries.current('supplier', code))?.body.title;
  const storing = async (ask: Asking, title: string, at: string, more: Readonly<Record<string, string>> = {}) => {
    const address = addressIn((await ask.get(at)).text);
    const fields = { supplier: 'S-BOTH', title, ...more };
    return { address, sent: await send(address, fields, 'check', ask), fields };
  };

  it('is not written over: the same code of two people, and a form of yesterday', async () => {
    const [mine, theirs] = [operator, await service.as('P-PE')];
    const one = await storing(mine, 'Mine', '/enter/supplier');
    const other = await storing(theirs, 'Theirs', '/enter/supplier');
    expect([one.sent.headers.location, other.sent.headers.location]).toEqual([
      `${one.address}/check`,
      `${other.address}/check`,
    ]);
    expect((await sendForm(theirs, `${other.address}/store`)).status).toBe(303);
    const refused = await sendForm(mine, `${one.address}/store`);
    expect([refused.status, await titleOf('S-BOTH')]).toEqual([400, 'Theirs']);
    expect(refused.text).toContain('value="Mine"');

    const AGAIN = '/enter/supplier?of=S-BOTH';
    const yesterday = await mine.get(AGAIN);
    const newer = await storing(theirs, 'Theirs, newer', AGAIN, { ':of': 'S-BOTH', ':saw': '1', reason: 'renamed' });
    expect((await sendForm(theirs, `${newer.address}/store`)).status).toBe(303);
    const address = addressIn(yesterday.text);
    expect(yesterday.text).toContain('name=":saw" value="1"');
    const typed = { supplier: 'S-BOTH', title: 'Mine', reason: 'moved', ':of': 'S-BOTH' };
    const told = await send(address, { ...typed, ':saw': '1' });
    expect([told.status, await titleOf('S-BOTH')]).toEqual([400, 'Theirs, newer']);
    expect(told.text).toContain('revision 2 of S-BOTH, which others stored since you opened this form');
    expect(told.text).toMatch(/value="Mine"/);
    // Who was told and goes on makes the next revision of what stands there now.
    expect(told.text).toContain('name=":saw" value="2"');
    expect((await send(address, { ...typed, ':saw': '2' })).headers.location).toBe(`${address}/check`);
    expect((await sendForm(mine, `${address}/store`)).status).toBe(303);
    expect(await titleOf('S-BOTH')).toBe('Mine');
  });
});

it('leads from a calibration that found an instrument off to all that it touches', async () => {
  const at = await begin('instrument?of=I-RIG');
  const row = {
    ...{ certificate: 'C-R2', at: AT, due: '2032-03-03T08:00:00+01:00', traceableTo: 'a standard (invented)' },
    ...{ asFound: 'out of tolerance', asLeft: 'in tolerance' },
  };
  const fields = Object.entries(row).map(([name, value]) => [`calibrations[0].${name}`, value] as const);
  const plain = { instrument: 'I-RIG', title: 'Tensile rig', measures: 'force', reason: 'found off' };
  const { headers, text } = await send(at, { ...plain, ...Object.fromEntries(fields) });
  expect([headers.location, text]).toEqual([`${at}/check`, '']);
  expect((await operator.get(`${at}/check`)).text).toMatch(
    /Found out of tolerance[\s\S]*href="\/impact\?id=instrument%3AI-RIG"/,
  );
});

describe('a form whose session has ended', () => {
  const stranger = () => service.stranger;

  it('is kept for its person, who finds it after signing in, and for nobody else', async () => {
    const address = await begin('nonconformity');
    const sent = await send(address, { nonconformity: 'NC-9', says: 'the seal was broken' }, 'check', stranger());
    expect(sent.status).toBe(303);
    expect(sent.headers.location).toBe(`/sign-in?next=${encodeURIComponent(address)}`);
    expect((await stranger().get(sent.headers.location!)).text).toContain('comes back after you sign in');
    expect((await operator.get(address)).text).toContain('the seal was broken');
    expect((await operator.get('/enter')).text).toContain(address);
    const other = await service.as('P-AN');
    expect((await other.get(address)).status).toBe(404);
    expect((await other.get('/enter')).text).not.toContain(address);
    await operator.post(`${address}/leave`).type('form').send({});
    expect((await operator.get(address)).status).toBe(404);
  });

  it.each([
    ['of a stranger', 'anything'],
    ['that is no name', 'W10.x'],
    ['of another person', 'other'],
  ])('is not read at an address %s', async (_, name) => {
    const mine = (await begin('receipt')).split('/').at(-1)!;
    const [text = '', code = ''] = mine.split('.');
    const others = JSON.stringify(JSON.parse(Buffer.from(text, 'base64url').toString()).with(0, 'P-QE'));
    const forged = name === 'other' ? `${Buffer.from(others).toString('base64url')}.${code}` : name;
    const { status } = await send(`/enter/receipt/${forged}`, RECEIPT, 'check', stranger());
    expect(status).toBe(401);
    expect(await service.services.store.read.drafts.ofPerson('P-QE')).toEqual([]);
  });
});

it('keeps so many forms of a person, the latest', async () => {
  const { store } = service.services;
  const drafts = new Drafts(store);
  const before = await store.read.ledger.size();
  const names = Array.from({ length: MOST.draftsOfPerson + 2 }, () => drafts.begin('P-AN', 'receipt'));
  for (const name of names) await drafts.keep(name, {});
  expect(await drafts.ofPerson('P-AN')).toHaveLength(MOST.draftsOfPerson);
  await expect(drafts.of('P-AN', names[0]!)).rejects.toThrow('not kept any more');
  expect(await store.read.ledger.size()).toBe(before);
});

it('lets an auditor look at a form and store nothing', async () => {
  const auditor = await service.as('P-AU');
  expect((await auditor.get('/enter/receipt')).text).toContain('You may not do this');
  const address = await begin('receipt');
  expect((await send(address, RECEIPT, 'check', auditor)).status).toBe(403);
});

describe('a nonconformity', () => {
  const leads = (html: string) =>
    [...html.matchAll(/href="(\/enter\/nonconformity[^"]+)"/g)].map((match) => match[1]!.replaceAll('&amp;', '&'));
  const read = async (address: string) => (await operator.get(address)).text;
  const valuesIn = (html: string, name: string): string[] =>
    [...html.matchAll(/<input[^>]*>/g)].flatMap(([field]) =>
      field.includes(` name="${name}"`) ? [/ value="([^"]*)"/.exec(field)?.[1] ?? ''] : [],
    );
  const ADVISED = /open a nonconformity/i;
  /** A lot of which every rule that advises one has found something. */
  const found = everyAdvice()
    .filter(({ clearedBy }) => ADVISED.test(clearedBy))
    .map(({ check, rule, facts, says }) => ({ check, rule, facts, says, id: sha256Hex(`${check} ${rule}`) }));
  let restore = () => {};

  beforeAll(async () => {
    const { current, assessor } = service.services;
    await assessor.assess('L-1', 'local:tester');
    const real = (await current.of('L-1'))!;
    const checks = real.assessment.checks.map((check) => ({
      ...check,
      outcome: found.some((one) => one.check === check.code) ? 'fails' : check.outcome,
      findings: found
        .filter((one) => one.check === check.code)
        .map(({ id, rule, facts }) => ({
          ...{ id, rule, facts, units: ['L-1-I1'], subjects: [{ kind: 'implant', key: 'L-1-I1' }] },
          ...({ effect: 'blocks release', mayBeDecided: 'concession', decision: null } as const),
        })),
    }));
    const spoilt = { ...real, assessment: { ...real.assessment, checks } };
    const spy = vi.spyOn(CurrentAssessments.prototype, 'of').mockImplementation(async () => spoilt as never);
    restore = () => spy.mockRestore();
  });
  afterAll(() => restore());

  it('is what rules of many checks advise', () => {
    expect(new Set(found.map(({ check }) => check)).size).toBeGreaterThan(15);
    expect(found.length).toBeGreaterThan(40);
  });

  it('is a button beside each such advice on the page of checks, which leads to a form with what is on record', async () => {
    const items = (await read('/lots/L-1/checks')).split('<li').filter((item) => ADVISED.test(item.split('</li')[0]!));
    const begun = new Map<string, string>();
    for (const item of items) {
      const [lead, ...more] = leads(item.split('</li')[0]!);
      expect([item, more]).toEqual([item, []]);
      const html = await read(lead!);
      expect(addressIn(html)).toContain('/enter/nonconformity/');
      expect(valuesIn(html, 'nonconformity')).toEqual(['NC-L-1-1']);
      expect(valuesIn(html, 'opened.by')).toEqual(['P-OP']);
      expect(valuesIn(html, 'touches[0].key')).toEqual(['L-1-I1']);
      const ids = [...html.matchAll(/name="findings\[\d+\]"[^>]*value="([0-9a-f]{64})"/g)].map(([, id]) => id!);
      expect(ids.length).toBeGreaterThan(0);
      for (const id of ids) begun.set(id, html);
    }
    expect([...begun.keys()].sort()).toEqual(found.map(({ id }) => id).sort());
    for (const { id, says } of found) expect(saidOn({ html: begun.get(id)! })).toContain(saidOn({ html: says }));
  });

  it.each(found.slice(0, 3))('is a button where a finding would be signed: $check, $rule', async ({ id }) => {
    const html = await read(
      `/sign?meaning=decided&thing=${encodeURIComponent(`check finding:L-1:${id.slice(0, 12)}`)}`,
    );
    expect(html).toMatch(ADVISED);
    expect(leads(html)).toEqual([`/enter/nonconformity?lot=L-1&findings=${id.slice(0, 12)}`]);
  });
});

it('opens a nonconformity from each blocker that advises one, and from no finding that is not there', async () => {
  const leads = (html: string) =>
    [...html.matchAll(/href="(\/enter\/nonconformity[^"]+)"/g)].map((match) => match[1]!.replaceAll('&amp;', '&'));
  const advised = (await operator.get('/lots/L-1')).text
    .split('<li')
    .filter((item) => item.includes('open a nonconformity'));
  expect(advised.length).toBeGreaterThan(0);
  expect(advised.filter((item) => leads(item).length === 0)).toEqual([]);
  const [blocker] = leads(advised[0]!);
  const { status, text } = await operator.get(blocker!);
  expect([status, text.includes('value="L-1-I1"')]).toEqual([200, true]);
  const unknown = await operator.get('/enter/nonconformity?lot=L-1&findings=000000000000');
  expect([unknown.status, unknown.text.includes('000000000000')]).toEqual([404, true]);
  expect((await operator.get(blocker!.replace('nonconformity', 'receipt'))).status).toBe(404);
});
