import { AuditTrail, CSV_COLUMNS } from '../../src/custody/audit-trail.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { readCsv } from '../../src/dossier/csv.js';
import { programHold } from '../support/program-hold.js';
import { startTestService, type TestService } from '../support/service.js';

let service: TestService;

beforeAll(async () => {
  service = await startTestService();
});
afterAll(() => service.close());

const page = async (path: string): Promise<string> => {
  const { status, text } = await service.ask.get(path);
  expect([path, status]).toEqual([path, 200]);
  return text;
};

/** Numbers of the entries that a page lists, as it orders them. */
const listed = (text: string): number[] =>
  [...text.matchAll(/<tr id="entry-(\d+)">/g)].map((match) => Number(match[1]));

const rowOf = (text: string, seq: number): string =>
  text
    .slice(text.indexOf(`<tr id="entry-${seq}">`))
    .split('</tr>')[0]!
    .replaceAll(/<[^>]*>/g, ' ')
    .replaceAll(/\s+/g, ' ');

const csv = async (query = ''): Promise<string[][]> => {
  const { status, text } = await service.ask.get(`/audit.csv${query}`).buffer(true);
  expect(status).toBe(200);
  return readCsv(CSV_COLUMNS, text);
};

describe('the page of the audit trail', () => {
  it('ends before the line that would make it long, and keeps each below 100 kB', async () => {
    const trail = new AuditTrail(service.services.store);
    const size = await service.services.store.read.ledger.size();
    const { lines, older } = await trail.page({}, 50, size + 1, 30);
    expect(lines.length).toBeLessThan(50);
    const values = lines.map(({ changes }) => changes.length);
    expect(lines.length === 1 || values.reduce((a, b) => a + b, 0) <= 30).toBe(true);
    expect(older).toBe(lines.at(-1)!.seq);
    const [next] = (await trail.page({}, 1, older!)).lines;
    expect(next!.seq).toBe(older! - 1);
    expect(values.reduce((a, b) => a + b, 0) + next!.changes.length).toBeGreaterThan(30);
    for (let path: string | undefined = '/audit'; path; ) {
      const text = await page(path);
      expect(Buffer.byteLength(text)).toBeLessThan(100_000);
      path = /<a href="(\/audit\?before=\d+)">Older entries/.exec(text)?.[1];
    }
  });

  it('lists the newest entries first and leads to all older ones, each once', async () => {
    const size = await service.services.store.read.ledger.size();
    const seen: number[] = [];
    for (let path: string | undefined = '/audit'; path; ) {
      const text = await page(path);
      seen.push(...listed(text));
      path = /<a href="(\/audit\?before=\d+)">Older entries/.exec(text)?.[1];
    }
    expect(seen).toEqual(Array.from({ length: size }, (_, index) => size - index));
  });

  it('shows old and new value of a corrected result, with its reason', async () => {
    const text = await page('/audit?act=results-recorded&thing=L-1');
    const row = rowOf(text, listed(text)[0]!);
    expect(row).toMatch(/old value .* new value 1\.700/);
    expect(row).toContain('read from the wrong line');
  });

  it('shows old and new value of a changed document, with its reason', async () => {
    await service.services.store.change('person:P-QE', async (change) => {
      const { body } = await service.services.store.read.entries.currentOrThrow('supplier', await firstSupplier());
      const changed = { ...(body as Record<string, unknown>), title: 'Another name', reason: 'renamed by its owner' };
      const revision = { kind: 'supplier', key: await firstSupplier(), name: 'x', body: changed, links: [] };
      await change.entries.add({ ...revision, reason: 'renamed by its owner' });
    });
    const text = await page('/audit?act=revision-recorded');
    const row = rowOf(text, listed(text)[0]!);
    expect(row).toMatch(/title *: *old value .* new value Another name/);
    expect(row).toContain('renamed by its owner');
    expect(row).toContain('person:P-QE');
  });

  it('finds by thing, person, act and days, and by all of them together', async () => {
    const trail = await csv();
    const expected = (test: (row: Record<string, string>) => boolean): number[] => {
      const rows = trail.map((row) => Object.fromEntries(CSV_COLUMNS.map((name, at) => [name, row[at]!])));
      return [...new Set(rows.filter(test).map((row) => Number(row.entry)))].reverse();
    };
    const signed = expected((row) => row.act!.startsWith('signed'));
    expect(listed(await page('/audit?act=statement-signed'))).toEqual(signed.slice(0, 50));
    const ofTester = expected((row) => row.by === 'local:tester').slice(0, 50);
    expect(listed(await page('/audit?person=tester'))).toEqual(ofTester);
    const day = expected((row) => row.at!.startsWith('2031-03-06') && row.by === 'local:tester').slice(0, 50);
    expect(listed(await page('/audit?person=local:tester&from=2031-03-06&to=2031-03-06'))).toEqual(day);
    expect(listed(await page('/audit?from=2031-03-07&act=assessment-made'))).toEqual([]);
    const assessed = expected((row) => row.act === 'assessed' && row.key === 'L-02');
    expect(assessed.length).toBe(1);
    expect(listed(await page('/audit?thing=l-02&act=assessment-made&person=tester'))).toEqual(assessed);
    expect(await page('/audit?thing=nothing-has-this-name')).toContain('Nothing in the audit trail is as searched for');
  });

  it('never shows what proves an identity', async () => {
    const text = (await csv('?act=event%3Apassword-set')).flat().join('\n');
    expect(text).toContain('password set');
    expect(text).not.toMatch(/argon2|[0-9a-f]{64}/);
    expect(await page('/audit?act=event%3Apassword-set')).not.toMatch(/argon2/);
  });

  it('shows what files and people wrote as text', async () => {
    const text = await page('/audit?thing=PLATE');
    expect(text).toContain('&lt;script&gt;alert(1)&lt;/script&gt;');
    expect(text).not.toContain('<script>alert(1)');
    expect(await page(`/audit?thing=${encodeURIComponent('"><b>x')}`)).not.toContain('<b>x');
  });

  it.each(['?act=gift', '?from=yesterday', '?before=0', '?before=-1', '?nothing=1', `?thing=${'x'.repeat(201)}`])(
    'refuses %s and says what it expects',
    async (query) => {
      expect((await service.ask.get(`/audit${query}`)).status).toBe(400);
    },
  );

  it('is for those who are signed in', async () => {
    for (const path of ['/audit', '/audit.csv', '/audit.pdf', '/protection']) {
      expect((await service.stranger.get(path)).status).toBe(303);
    }
  });
});

const firstSupplier = async (): Promise<string> => (await service.services.store.read.entries.list('supplier'))[0]!.key;

describe('copies of the audit trail', () => {
  it('hold every entry, and are entries themselves, with their SHA-256', async () => {
    const size = await service.services.store.read.ledger.size();
    const { text, headers } = await service.ask.get('/audit.csv').buffer(true);
    const entries = new Set(readCsv(CSV_COLUMNS, text).map(([seq]) => Number(seq)));
    expect([...entries]).toEqual(Array.from({ length: size }, (_, index) => index + 1));
    expect(headers['content-disposition']).toContain(sha256Hex(text).slice(0, 12));
    const exported = (await service.services.store.read.events.ofTypes(['exported'])).at(-1)!;
    expect(exported).toMatchObject({
      actor: 'person:P-QE',
      ledgerSeq: size + 1,
      event: { what: 'audit trail as CSV', filter: {}, lines: size, sha256: sha256Hex(text) },
    });
  });

  it('say what was searched for', async () => {
    await csv('?person=tester&thing=L-1');
    const { event } = (await service.services.store.read.events.ofTypes(['exported'])).at(-1)!;
    expect(event).toMatchObject({ filter: { person: 'tester', thing: 'L-1' } });
  });

  it('cannot be a formula in a table program', async () => {
    await service.services.store.change('local:tester', (change) =>
      change.events.add(programHold(), '=HYPERLINK("x")'),
    );
    const rows = await csv('?act=event%3Ahold-placed');
    expect(rows.at(-1)!.at(-1)).toBe(`'=HYPERLINK("x")`);
  });

  it('come as PDF too, with the root over all entries', async () => {
    const { status, body, headers } = await service.ask
      .get('/audit.pdf?act=statement-signed')
      .buffer(true)
      .parse((response, done) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('end', () => done(null, Buffer.concat(chunks)));
      });
    expect([status, headers['content-type']]).toEqual([200, 'application/pdf']);
    expect((body as Buffer).subarray(0, 5).toString()).toBe('%PDF-');
    const { event } = (await service.services.store.read.events.ofTypes(['exported'])).at(-1)!;
    expect(event).toMatchObject({ what: 'audit trail as PDF', filter: { act: 'statement-signed' } });
  });

  it('may be taken by an auditor, who changes nothing else', async () => {
    const auditor = await service.as('P-AU');
    expect((await auditor.get('/audit.csv?thing=L-1')).status).toBe(200);
  });

  it('leave no file behind', async () => {
    const { default: fs } = await import('node:fs');
    const { default: path } = await import('node:path');
    expect(fs.readdirSync(path.join(service.services.store.folder.path, 'exports'))).toEqual([]);
  });
});

describe('the page that says how this is protected', () => {
  it('shows the head as it stands and the fingerprint of the key', async () => {
    const text = await page('/protection');
    const { origin, root } = await service.services.store.proofs.signedHead();
    for (const words of [origin, root, service.services.store.key.fingerprint]) expect(text).toContain(words);
  });

  it('is the only one with the words of the trade of hashing', async () => {
    expect(await page('/protection')).toContain('Merkle');
    for (const path of ['/', '/audit', '/lots/L-1', '/people']) expect(await page(path)).not.toMatch(/Merkle/);
  });
});
