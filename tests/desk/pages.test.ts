import fs from 'node:fs';
import { vi } from 'vitest';
import { CALCULATIONS } from '../../src/calculations/catalogue.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { standardTemplate } from '../../src/report/standard-template.js';
import { issueRecord, PAGES, sendForm, startTestService, type TestService } from '../support/service.js';

/** Pages with a script, by their path: it makes easier what they do without one too. */
const SCRIPTS: ReadonlyMap<string, string> = new Map([
  ['/parts', 'bring-in'],
  ['/account', 'passkey'],
  ['/intake', 'bring-in'],
]);

let service: TestService;
beforeAll(async () => {
  service = await startTestService();
});
afterAll(() => service.close());

const page = async (path: string) => (await service.ask.get(path)).text;
const text = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');

describe('every page', () => {
  it.each(PAGES)('%s is whole, carries the clinical line and the demo banner, and lets nothing run', async (path) => {
    const { text: html, headers } = await service.ask.get(path);
    expect(headers['content-type']).toBe('text/html; charset=utf-8');
    expect(html).toMatch(/^<!doctype html>\n<html lang="en">/);
    expect(html.match(/<h1>/g)).toHaveLength(1);
    expect(html).toContain('A record keeping and calculation aid. It does not decide clinical use');
    expect(html).toContain('<a href="/cautions">All cautions</a>');
    expect(html.length).toBeLessThan(100_000);
    expect(html).toContain('<strong>DEMO.</strong>');
    // A few pages have a script of ours, each its own, and no page anything else that runs.
    const own = SCRIPTS.get(path);
    const script = `<script src="/assets/${own}.js" defer></script>`;
    expect([path, html.includes(script)]).toEqual([path, own !== undefined]);
    expect(html.replace(script, '')).not.toMatch(/<script|<style|\son[a-z]+="|\sstyle="|javascript:/i);
    expect(html).not.toMatch(/undefined|NaN|\[object Object\]/);
  });

  it.each(PAGES)('%s has unique ids, and every link within it leads to one of them', async (path) => {
    const html = await page(path);
    const ids = [...html.matchAll(/\sid="([^"]+)"/g)].map((match) => match[1]!);
    expect(ids.filter((id, index) => ids.indexOf(id) !== index)).toEqual([]);
    const targets = [...html.matchAll(/href="#([^"]+)"/g)].map((match) => match[1]!);
    expect(targets.filter((target) => !ids.includes(target))).toEqual([]);
  });

  it('tells every caution on one page', async () => {
    const said = text(await page('/cautions'))
      .replaceAll('&quot;', '"')
      .replaceAll('&#39;', "'");
    for (const caution of Object.values(standardTemplate().cautions)) expect(said).toContain(caution);
  });

  it.each([
    ['/trace', '/find'],
    ['/trace?id=L-1-I1', '/find?id=L-1-I1'],
    ['/trend', '/families'],
    ['/lots/L-1/page?page=tests', '/lots/L-1/tests'],
  ])('%s leads on to %s', async (path, to) => {
    const { status, headers } = await service.ask.get(path);
    expect([Math.floor(status / 100), headers.location]).toEqual([3, to]);
  });

  it('forbids inline scripts and styles, and everything from elsewhere (ASVS 14.4.3, 14.4.4)', async () => {
    const { headers } = await service.ask.get('/');
    expect(headers['content-security-policy']).toBe(
      "default-src 'none';script-src 'self';connect-src 'self';style-src 'self';font-src 'self';img-src 'self';frame-src 'self';form-action 'self';base-uri 'none';frame-ancestors 'none'",
    );
    expect(headers['x-content-type-options']).toBe('nosniff');
    expect(headers['x-powered-by']).toBeUndefined();
  });

  it.each([
    '/assets/pages.css',
    '/assets/job.js',
    '/assets/passkey.js',
    '/assets/bring-in.js',
    '/assets/mark.svg',
    '/assets/fonts/source-sans-3-regular.ttf',
  ])('finds what it loads: %s', async (path) => {
    expect((await service.ask.get(path)).status).toBe(200);
  });
});

it('says what to do today, and lists lots with their verdicts, their stage and whom they wait for', async () => {
  const said = text(await page('/'));
  expect(said).toMatch(/Today What For By Act .*Lots that are not decided/);
  expect(said).toMatch(/Not assessed yet L-00 2031-12-01 Open the lot/);
  expect(said).toMatch(/L-1 PLATE 2031-12-01 L-1-I1 does not conform L-1-I2 conforms tested 1 of 2 conform/);
});

it('walks once for the pages of an answer, and again when something came in', async () => {
  const walks = vi.spyOn(service.services.store.read.trace, 'reach');
  const asked = async (path: string) => {
    walks.mockClear();
    expect(await page(path)).toContain('0417');
    return walks.mock.calls.length;
  };
  const [answer, rows] = ['/find?id=0417', '/find/rows?id=0417&match=1&part=forward'];
  const somethingComesIn = () =>
    service.services.store.change('local:tester', (change) =>
      change.events.add({
        type: 'exported',
        what: 'answer of a trace as PDF',
        filter: {},
        lines: 0,
        sha256: '0'.repeat(64),
      }),
    );
  await somethingComesIn();
  const first = await asked(answer);
  expect(first).toBeGreaterThan(1);
  expect([await asked(rows), await asked(answer)]).toEqual([0, 0]);
  await somethingComesIn();
  expect([await asked(rows), await asked(answer)]).toEqual([first, 0]);
  walks.mockRestore();
});

it('says of a place behind the end of the list of lots that it is there', async () => {
  expect(text(await page('/lots?from=9999'))).toContain('The list ends before that');
  expect(await page('/lots')).not.toContain('The list ends before that');
});

describe('the page of a lot', () => {
  it('says what came out, what people decided, and how each approval stands', async () => {
    const said = text(await page('/lots/L-1'));
    expect(said).toContain('1 may be released, 1 may not . Needed by 2031-12-01');
    expect(said).toContain('By what people signed: in review .');
    expect(said).toMatch(
      /L-1-I1 : Plate thickness of L-1-I1, replicate 1: 1\.700 mm, misses 1\.45 to 1\.55 mm.*Who can clear it: Process and quality engineer/,
    );
    expect(text(await page('/lots/L-1/papers'))).toMatch(/approval of recipe RC rev 2 signed P-QE/);
  });

  it('leads from each value to its evidence in two clicks', async () => {
    const matrix = /<table class="matrix"[\s\S]*?<\/table>/.exec(await page('/lots/L-1'))![0];
    const values = [...matrix.matchAll(/<a href="\/lots\/L-1\/tests#(result-\d+)">([\d.]+)<\/a>/g)];
    expect(values).toHaveLength(6);
    const html = await page('/lots/L-1/tests');
    for (const [, anchor, value] of values) {
      const row = new RegExp(`<tr id="${anchor}">[\\s\\S]*?</tr>`).exec(html)![0];
      expect(row).toContain(`>${value}<`);
      const sha256 = /href="\/evidence\/([0-9a-f]{64})"/.exec(row)![1]!;
      const line = Number(/, line (\d+)/.exec(row)![1]);
      const { body, headers } = await service.ask.get(`/evidence/${sha256}`).buffer(true);
      expect(sha256Hex(body as Buffer)).toBe(sha256);
      expect((body as Buffer).toString('utf8').split('\n')[line - 1]).toContain(value);
      expect(headers['content-disposition']).toMatch(/^attachment; filename="[a-z]+\.csv"/);
      expect(headers['content-type']).toBe('application/octet-stream');
      expect(headers['x-content-type-options']).toBe('nosniff');
    }
  });

  it('keeps the corrected value beside the right one', async () => {
    expect(text(await page('/lots/L-1/tests'))).toMatch(/1\.501 mm 1\.700 mm read from the wrong line/);
  });

  it('prints the text of a document as text', async () => {
    const html = await page('/lots/L-1/papers');
    expect(html).toContain('&lt;script&gt;alert(1)&lt;/script&gt; &quot; onfocus=&quot;x&quot;');
  });

  it('assesses a lot that was not assessed, then issues its record and serves exactly the issued bytes', async () => {
    expect(text(await page('/lots/L-00'))).toContain('Nothing is proposed for its 2 implants.');
    const assessed = await sendForm(service.ask, '/lots/L-00/assess');
    expect([assessed.status, assessed.headers.location]).toEqual([303, '/lots/L-00']);
    const issued = await issueRecord(service.ask, 'L-00');
    expect([issued.status, issued.headers.location]).toEqual([303, '/lots/L-00/papers#records']);
    const [record] = await service.services.store.read.records.ofLot('L-00');
    const { body, headers } = await service.ask.get('/lots/L-00/record.pdf').buffer(true);
    expect(sha256Hex(body as Buffer)).toBe(record!.fileSha256);
    expect(headers['content-type']).toBe('application/pdf');
    expect(text(await page('/lots/L-00/papers'))).toContain('LR-L-00 revision 1 (PDF)');
  });

  it('refuses a record whose file was altered since', async () => {
    await issueRecord(service.ask, 'L-05');
    const file = `${service.services.store.folder.records}/LR-L-05-r1.pdf`;
    fs.appendFileSync(file, ' ');
    const { status, text: html } = await service.ask.get('/lots/L-05/record.pdf');
    expect(status).toBe(500);
    expect(text(html)).toContain('The file of record LR-L-05 revision 1 was altered');
  });
});

it('leads from a lot that is not there, and from an identifier that is not, to what is spelt nearly so', async () => {
  expect(await page('/lots/L-O1')).toContain('href="/find?id=L-O1"');
  const said = text(await page('/find?id=L-O1'));
  expect(said).toContain('Nothing on record has the identifier “L-O1”.');
  expect(said).toMatch(/Spelt nearly so:.*L-01 , lot/);
});

it.each(['P-OP', 'P-AN', 'P-PE', 'P-RE', 'P-AD', 'P-AU'])('tells %s what to do today', async (person) => {
  const { status, text: html } = await (await service.as(person)).get('/');
  expect(status).toBe(200);
  expect(html).not.toMatch(/undefined|NaN|\[object Object\]/);
  if (person === 'P-AD') expect(text(html)).toContain('No backup was ever made');
  if (person !== 'P-AU') return;
  expect(text(html)).toContain('What was refused');
  const acts = [...html.matchAll(/<a class="button" href="([^"]+)"/g)].map(([, href]) => href!);
  expect(acts.length).toBeGreaterThan(0);
  for (const href of acts) expect((await (await service.as(person)).get(href)).status).toBe(200);
});

it('traces a bare heat number to every implant made with it', async () => {
  const said = text(await page('/find?id=0417'));
  for (const serial of ['L-00-I1', 'L-1-I2']) expect(said).toContain(serial);
});

it('shows the first rows of a long answer, and turns over to each of the others once', async () => {
  const html = await page('/find?id=0417');
  const [, all] = /of (\d+) are shown: <a href="(\/find\/rows\?[^"]+part=forward)"/.exec(html)?.slice(0) ?? [];
  const address = /<a href="(\/find\/rows\?[^"]+part=forward)"/.exec(html)![1]!.replaceAll('&amp;', '&');
  const keysOf = (found: string) =>
    [...found.matchAll(/<th scope="row"><a href="[^"]+">([^<]+)<\/a>/g)].map(([, key]) => key!);
  const keys: string[] = [];
  for (let next: string | undefined = address; next !== undefined; ) {
    const found: string = await page(next);
    keys.push(...keysOf(found));
    next = /<a href="(\/find\/rows\?[^"]+)">Next rows/.exec(found)?.[1]?.replaceAll('&amp;', '&');
  }
  expect(keys).toHaveLength(Number(all));
  const { body } = await service.ask.get('/api/v1/trace/0417');
  const heat = body.matches.find(({ entry }: { entry: { kind: string } }) => entry.kind === 'heat');
  expect(keys.length).toBe(heat.forward.length);
  expect((await service.ask.get('/find/rows?id=0417&match=1&part=signed')).status).toBe(404);
  expect((await service.ask.get('/find/rows?id=0417&match=9&part=back')).status).toBe(404);
});

it('traces a person to what they signed', async () => {
  const said = text(await page('/find?id=P-QE'));
  expect(said).toMatch(/Signed: \d+ statements/);
  expect(said).toMatch(/approved specification SP revision 3 quality engineer/);
});

it('shows a family over its builds with the index and its bound', async () => {
  const said = text(await page('/trend?family=PLATE&characteristic=rm'));
  expect(said).toMatch(/Ppk \d+\.\d+ ?; with 95 % confidence at least \d/);
  expect(said).toMatch(/2031-02-02 L-00|2031-02-03 L-01/);
});

describe('calculation pages', () => {
  it.each(CALCULATIONS.map(({ name }) => name))('%s gives what is needed to do it by hand', async (name) => {
    const { status, text: html } = await service.ask.get(`/calculations/${name}`);
    expect(status).toBe(200);
    for (const heading of ['Fields', 'Formula and source', 'Worked example', 'Steps', 'Result']) {
      expect(html).toContain(`>${heading}</h`);
    }
    expect(html).not.toMatch(/undefined|NaN|\[object Object\]/);
  });

  it('computes without scripts (ASTM G1 formula, worked by hand: 87600 × 0.0124 / (5.652 × 336 × 1.84))', async () => {
    const input = JSON.stringify({ massLossG: 0.0124, areaCm2: 5.652, timeH: 336, densityGPerCm3: 1.84 });
    const { text: html } = await service.ask.post('/calculations/mass-loss-rate').type('form').send({ input });
    const shown = /<code>mmPerYear<\/code><\/th><td data-label="Value"><strong>([\d.]+)/.exec(html)![1];
    expect(Number(shown)).toBeCloseTo((87_600 * 0.0124) / (5.652 * 336 * 1.84), 12);
  });

  it('computes from fields, with a comma as decimal mark that is shown back as it was read', async () => {
    const fields = { massLossG: '0,0124', areaCm2: '5.652', timeH: '336', densityGPerCm3: '1,84' };
    const { text: html } = await service.ask.post('/calculations/mass-loss-rate').type('form').send(fields);
    expect(html).toContain('<code>mmPerYear</code></th><td data-label="Value"><strong>0.3108');
    expect(html).toMatch(/name="densityGPerCm3"[^>]*value="1.84"/);
    const { text: wrong } = await service.ask
      .post('/calculations/mass-loss-rate')
      .type('form')
      .send({ ...fields, timeH: 'x' });
    expect(wrong).toContain('<a href="#timeH">Time: “x” is no number; write it as 12.5 or 12,5</a>');
    expect(wrong).toMatch(/name="massLossG"[^>]*value="0,0124"/);
  });

  it('says at the top what is wrong, with a link to the field, and keeps what was typed', async () => {
    const input = '{"massLossG": -1, "areaCm2": 5, "timeH": 336, "densityGPerCm3": 1.84}';
    const { text: html } = await service.ask.post('/calculations/mass-loss-rate').type('form').send({ input });
    expect(html).toContain('<title>Error: mass-loss-rate');
    expect(html.indexOf('This cannot be computed')).toBeLessThan(html.indexOf('<h1>'));
    expect(html).toContain('<a href="#input">massLossG: must not be negative</a>');
    expect(html).toContain('aria-invalid="true"');
    expect(html).toContain('&quot;massLossG&quot;: -1');
  });

  it.each([
    ['{"massLossG": 1', 'no JSON'],
    ['</textarea><script>alert(1)</script>', '&lt;/textarea>&lt;script'],
    ['[]', 'This cannot be computed'],
  ])('survives %s', async (input, expected) => {
    const { status, text: html } = await service.ask.post('/calculations/summary').type('form').send({ input });
    expect(status).toBe(200);
    expect(html.replaceAll('&gt;', '>')).toContain(expected);
    expect(html).not.toContain('<script');
  });
});

it('shows every part of pages to whoever writes one', async () => {
  const html = await page('/parts');
  const parts = fs.readdirSync('templates/pages/parts').map((file) => file.replace('.eta', ''));
  expect(parts.filter((name) => !html.includes(`<code>${name}</code>`))).toEqual([]);
  expect(html).not.toMatch(/undefined|NaN|\[object Object\]/);
  expect((await service.ask.get('/parts/around.svg').expect(200)).type).toBe('image/svg+xml');
});
