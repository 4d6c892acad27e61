import { PASSWORD } from '../support/people.js';
import { type Asking, sendForm, startTestService, type TestService } from '../support/service.js';
import { signPage, textOf } from '../support/sign-form.js';

const UNITS = ['L-05-I1', 'L-05-I2'];

let service: TestService;
let quality: Asking;
beforeAll(async () => {
  service = await startTestService();
  quality = service.ask;
});
afterAll(() => service.close());

const page = async (ask: Asking, thing: string, meaning: string) =>
  textOf((await ask.get(signPage(thing, meaning))).text);
const post = async (ask: Asking, fields: object) => {
  const sent = await sendForm(ask, '/sign', { password: PASSWORD, ...fields });
  const { text: html } = sent.status === 303 ? await ask.get(sent.headers.location!) : sent;
  return { status: sent.status, html, says: textOf(html) };
};
/** What a form brings whose sender has looked just now, whether or not they may sign. */
async function review() {
  const { body } = await quality.get(`/api/v1${signPage('lot file:L-05', 'reviewed')}`);
  return { things: 'lot file:L-05', meaning: 'reviewed', seen: body.seen as string };
}

describe('the page on which people sign', () => {
  it('shows what is signed, with the list for the reviewer, what it rules out, and what a signature is worth', async () => {
    const shown = await page(quality, 'recipe:RC@2', 'approved');
    expect(shown).toContain('Sign as approved');
    expect(shown).toMatch(/Signed so far: performed by .* Example \(.*\) at 2031-/);
    const lot = await page(quality, 'lot file:L-1', 'reviewed');
    expect(lot).toContain('Corrected, refused or entered late');
    expect(lot).toContain('read from the wrong line');
    expect(lot).toContain('What this rules you out from');
    expect(lot).toMatch(/Your parts in this lot .*opened lot L-1 .*checked certificate of receipt R-1 /);
    const result = await page(await service.as('P-AN'), 'result-set:L-1:results/size.csv', 'performed');
    expect(result).toContain('you have signed exactly this already');
    expect(result).toContain('You could no longer release units for distribution here');
    const certificate = await page(await service.as('P-PE'), 'certificate:R-1', 'checked');
    expect(certificate).toContain('the same weight as one by hand');
  });

  it('says why somebody may not, and who may, and offers no form', async () => {
    const { text: html } = await (await service.as('P-RE')).get(signPage('lot file:L-05', 'reviewed'));
    expect(textOf(html)).toContain('needs the role quality engineer');
    expect(html).not.toContain('<form method="post" action="/sign"');
  });

  it('signs nothing without the password of the person who is signed in, and leads to the field', async () => {
    for (const [password, href] of [
      ['', '#password'],
      ['nine loud lanterns', 'Identifier or password is wrong'],
    ]) {
      const { status, html } = await post(quality, { ...(await review()), password });
      expect(status).toBe(400);
      expect(html).toContain('Nothing was signed');
      expect(html).toContain(href);
    }
  });

  it('takes a request for another person for what it is: the proof is of whoever is signed in', async () => {
    const { status } = await post(quality, { ...(await review()), person: 'P-RE' });
    expect(status).toBe(400);
  });

  it('signs nothing that another site sends, or that carries no token of the session', async () => {
    const forged = await quality
      .post('/sign')
      .set('X-CSRF-Token', 'x'.repeat(43))
      .type('form')
      .send({ ...(await review()), password: PASSWORD });
    expect(forged.status).toBe(403);
    const foreign = await quality
      .post('/sign')
      .set('Sec-Fetch-Site', 'cross-site')
      .type('form')
      .send({ ...(await review()), password: PASSWORD });
    expect(foreign.status).toBe(403);
    const stranger = await service.stranger
      .post('/sign')
      .type('form')
      .send({ ...(await review()), password: PASSWORD });
    expect([303, 401, 403]).toContain(stranger.status);
    expect(await service.services.store.read.signatures.of({ kind: 'lot file', key: 'L-05' })).toEqual([]);
  });

  it('writes a refused act into the list of the reviewer and into the audit trail', async () => {
    const { status, says } = await post(await service.as('P-AN'), await review());
    expect(status).toBe(400);
    expect(says).toContain('needs the role quality engineer');
    expect(await page(quality, 'lot file:L-05', 'reviewed')).toMatch(
      /refused act review a lot \(lot file L-05\): .* P-AN/,
    );
    const trail = textOf((await quality.get('/audit?thing=L-05')).text);
    expect(trail).toMatch(/refused.*P-AN|P-AN.*refused/);
    expect(trail).toContain('needs the role quality engineer');
  });

  it('prints name, role, meaning and time of what was signed (21 CFR 11.50), there and on the page of the lot', async () => {
    const thing = 'certificate:R-1';
    const { status, says } = await post(await service.as('P-PE'), { things: thing, meaning: 'checked' });
    expect(status).toBe(303);
    expect(says).toMatch(
      /Signed checked by Pia Example \(process engineer\) at 2031-03-06 12:00 UTC, in one statement, [0-9a-f]{12} , on: certificate of receipt R-1/,
    );
    expect(await page(quality, thing, 'checked')).toContain('checked by Pia Example (process engineer) at 2031-03-06');
  });

  it('refuses whoever has no signed training for it', async () => {
    const { status, says } = await post(quality, await review());
    expect(status).toBe(400);
    expect(says).toContain('P-QE has no signed qualification for &quot;lot review&quot; that covers this day');
  });

  it('lets an auditor look and sign nothing', async () => {
    const auditor = await service.as('P-AU');
    expect(await page(auditor, 'lot file:L-05', 'reviewed')).toContain(
      'an auditor reads everything and changes nothing',
    );
    expect((await post(auditor, await review())).status).toBe(403);
  });

  it('answers for what is no thing, or no meaning of it', async () => {
    for (const [thing, meaning, status] of [
      ['nonsense', 'reviewed', 400],
      ['lot file:GHOST', 'reviewed', 404],
      ['lot file:L-05', 'blessed', 400],
    ] as const) {
      expect([thing, (await quality.get(signPage(thing, meaning))).status]).toEqual([thing, status]);
    }
    expect((await quality.get(signPage('lot file:L-05', 'approved'))).status).toBe(400);
  });

  it('chooses no unit for whoever releases', async () => {
    const { text: html } = await quality.get(signPage('lot file:L-05', 'released'));
    expect(html).not.toMatch(/name="units"[^>]*checked/);
    for (const serial of UNITS) expect(html).toContain(serial);
  });
});

it('shows the table of authority with every act', async () => {
  const shown = textOf((await quality.get('/authority')).text);
  for (const words of [
    'release units for sterilisation',
    'decided no finding of this lot',
    'lot release',
    'administrator',
  ]) {
    expect(shown).toContain(words);
  }
});

it('says of a lock what signing in says of it, with 429 and how long to wait', async () => {
  const operator = await service.as('P-OP');
  const fields = { units: UNITS, reason: 'label unreadable', password: 'nine loud lanterns' };
  for (let time = 0; time < 5; time++) await sendForm(operator, '/lots/L-05/acts/hold', fields);
  const { status, headers, text: html } = await sendForm(operator, '/lots/L-05/acts/hold', fields);
  expect([status, headers['retry-after']]).toEqual([429, expect.stringMatching(/^\d+$/)]);
  expect(textOf(html)).toMatch(/Too many attempts failed for this identifier: wait/);
  const told = await operator.post('/api/v1/lots/L-05/acts/hold').send(fields);
  expect([told.status, told.body.code]).toEqual([429, 'LOCKED']);
  expect(Number(told.headers['retry-after'])).toBe(told.body.waitS);
});

describe('the same by the API', () => {
  it('signs with the same rules, and tells a refusal as a problem with its reason', async () => {
    const refused = await quality
      .post('/api/v1/sign')
      .send({ things: ['lot file:L-05'], meaning: 'reviewed', password: PASSWORD });
    expect(refused.status).toBe(403);
    expect(JSON.stringify(refused.body)).toContain('no signed qualification');
    const wrong = await quality
      .post('/api/v1/sign')
      .send({ things: ['lot file:L-05'], meaning: 'reviewed', password: 'wrong' });
    expect(wrong.status).toBe(403);
    const { body } = await quality.get('/api/v1/waiting');
    expect(body.waiting.length).toBeGreaterThan(0);
  });
});
