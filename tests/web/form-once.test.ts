import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import { createApplication } from '../../src/main.js';
import { formNumber } from '../../src/web/form-once.js';
import { PASSWORD } from '../support/people.js';
import { type Asking, askingAs, endOfJob, sendForm, signIn } from '../support/service.js';
import { formOf, hiddenIn, signPage, textOf } from '../support/sign-form.js';
import { addLotWithPeaks, SigningCell } from '../support/signing-cell.js';

/** Seconds of the log in which an implant is deposited: see signing-findings.test.ts. */
const I1_LAYER_1 = 2;

let cell: SigningCell;
let app: NestExpressApplication;
const asking = new Map<string, Asking>();
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    addLotWithPeaks(what, 'L-A', 201, { [I1_LAYER_1]: 60 });
    addLotWithPeaks(what, 'L-R', 202, { [I1_LAYER_1]: 120 });
    addLotWithPeaks(what, 'L-G', 203, {});
    addLotWithPeaks(what, 'L-N', 204, { [I1_LAYER_1]: 61 });
  });
  for (const lot of ['L-A', 'L-R', 'L-G']) await cell.services.assessor.assess(lot, 'local:tester');
  app = await createApplication(cell.services.store);
  for (const person of ['P-PE', 'P-QE', 'P-RE', 'P-AN', 'P-OP', 'P-AD', 'P-AU']) {
    asking.set(person, await askingAs(app, person));
  }
});
afterAll(async () => {
  await app.close();
  await cell.close();
});

const as = (person: string): Asking => asking.get(person)!;
const size = () => cell.services.store.read.ledger.size();
const refusals = async () => (await cell.services.store.read.events.ofTypes(['act-refused'])).length;

const outcomesIn = (html: string) => [...html.matchAll(/name="outcome" value="(\w+)"/g)].map(([, outcome]) => outcome);

const decision = async (lot: string, level: string) => {
  const [thing] = await cell.logFindings(lot, level);
  return { things: thing!, meaning: 'decided', outcome: 'accepted', reason: 'invented rationale', password: PASSWORD };
};

/** What the form of a reviewer who looked just now brings. */
async function review(lot: string) {
  const { seen } = await formOf(as('P-QE'), `lot file:${lot}`, 'reviewed');
  return { things: `lot file:${lot}`, meaning: 'reviewed', seen, password: PASSWORD };
}

// ASVS 11.1.1: the steps of an act in their order, and none twice.
describe('a form that signs', () => {
  /** Of a page that was open before the same was signed from another. */
  let seenBefore: object;

  it('signs once: a reload, the back button and another reason lead to what was signed and record nothing', async () => {
    const quality = as('P-QE');
    const fields = await decision('L-A', 'action');
    const { text: page } = await quality.get(signPage(fields.things, 'decided'));
    const number = hiddenIn(page)['form-number']!;
    expect(hiddenIn(page)).toMatchObject({ things: fields.things, meaning: 'decided' });
    expect(outcomesIn(page)).toEqual(['accepted', 'rejected']);
    const first = await sendForm(quality, '/sign', fields, number);
    expect([first.status, first.headers.location]).toEqual([303, expect.stringMatching(/^\/signed\/[0-9a-f]{64}$/)]);
    const before = [await size(), await refusals()];
    for (const again of [
      fields,
      { ...fields, reason: 'another reason', outcome: 'rejected' },
      { ...fields, password: 'nine loud lanterns' },
      { ...fields, things: 'nonsense' },
    ]) {
      const { status, headers } = await sendForm(quality, '/sign', again, number);
      expect([status, headers.location]).toEqual([303, first.headers.location]);
    }
    expect([await size(), await refusals()]).toEqual(before);
    const lockouts = await cell.services.store.read.identity.lockouts();
    expect(lockouts.filter(({ failures }) => failures > 0)).toEqual([]);
    const { status, text: shown } = await quality.get(first.headers.location!);
    expect(status).toBe(200);
    expect(textOf(shown)).toMatch(/Signed accepted by Quentin Example \(quality engineer\)/);
    expect((await quality.get(`/signed/${'0'.repeat(64)}`)).status).toBe(404);
  });

  it('signs once for two clicks at the same time', async () => {
    const fields = await decision('L-A', 'action');
    const number = formNumber();
    const before = [await size(), await refusals()];
    const both = await Promise.all([1, 2, 3].map(() => sendForm(as('P-PE'), '/sign', fields, number)));
    expect(new Set(both.map(({ status, headers }) => `${status} ${headers.location}`)).size).toBe(1);
    expect(both[0]!.status).toBe(303);
    // One statement, and its act.
    expect([await size(), await refusals()]).toEqual([before[0]! + 2, before[1]]);
  });

  it('is still used up after the service was started again', async () => {
    await cell.services.assessor.assess('L-A', 'local:tester');
    const fields = await review('L-A');
    const number = formNumber();
    const { cookie, csrf } = await signIn(app, 'P-QE');
    const asking = (over: NestExpressApplication) =>
      request.agent(over.getHttpServer()).set('Cookie', cookie).set('X-CSRF-Token', csrf);
    const first = await sendForm(asking(app), '/sign', fields, number);
    expect(first.status).toBe(303);
    const again = await createApplication(cell.services.store);
    try {
      const before = await size();
      const repeated = await sendForm(asking(again), '/sign', fields, number);
      expect([repeated.status, repeated.headers.location]).toEqual([303, first.headers.location]);
      expect(await size()).toBe(before);
    } finally {
      await again.close();
    }
  });

  it('may be mended and sent again when nothing was recorded of it', async () => {
    seenBefore = await review('L-G');
    const fields = { ...seenBefore, password: 'nine loud lanterns' };
    const number = formNumber();
    const before = await size();
    expect((await sendForm(as('P-QE'), '/sign', fields, number)).status).toBe(400);
    expect(await size()).toBe(before);
    const { status, headers } = await sendForm(as('P-QE'), '/sign', { ...fields, password: PASSWORD }, number);
    expect([status, headers.location]).toEqual([303, expect.stringContaining('/signed/')]);
  });

  it('records one refusal, however often it is sent, and leads to the page that says why', async () => {
    const fields = await review('L-R');
    const number = formNumber();
    const before = await refusals();
    const first = await sendForm(as('P-AN'), '/sign', fields, number);
    expect(first.status).toBe(400);
    expect(textOf(first.text)).toContain('needs the role quality engineer');
    for (let time = 0; time < 2; time++) {
      const { status, headers } = await sendForm(as('P-AN'), '/sign', fields, number);
      expect([status, headers.location]).toEqual([303, signPage('lot file:L-R', 'reviewed')]);
    }
    expect(await refusals()).toBe(before + 1);
    expect(textOf((await as('P-AN').get(signPage('lot file:L-R', 'reviewed'))).text)).toContain(
      'You may not sign this',
    );
  });

  it('takes a second form for the same thing for no attempt at anything', async () => {
    const before = [await size(), await refusals()];
    const { status, text: html } = await sendForm(as('P-QE'), '/sign', { ...seenBefore, password: PASSWORD });
    expect(status).toBe(400);
    expect(textOf(html)).toContain('you have signed exactly this already');
    expect([await size(), await refusals()]).toEqual(before);
  });

  it.each([[undefined], [''], ['short'], ['x'.repeat(23)], [['a'.repeat(22), 'b'.repeat(22)]]])(
    'does nothing without a number of its own: %j',
    async (number) => {
      const before = await size();
      const { status, text: html } = await as('P-QE')
        .post('/lots/L-A/records')
        .type('form')
        .send(number === undefined ? {} : { 'form-number': number });
      expect(status).toBe(400);
      expect(textOf(html)).toContain('open the page again and send its form');
      expect(await size()).toBe(before);
    },
  );

  it('has a number that means nothing to another session', async () => {
    const number = formNumber();
    const fields = { units: 'L-R-I2', reason: 'label unreadable', password: PASSWORD };
    const one = await sendForm(as('P-OP'), '/lots/L-R/acts/hold', fields, number);
    expect(one.headers.location).toBe('/lots/L-R');
    const other = await sendForm(as('P-QE'), '/lots/L-R/acts/lift-hold', { ...fields, reason: 'replaced' }, number);
    expect([other.status, other.headers.location]).toEqual([303, '/lots/L-R']);
    const events = await cell.services.store.read.events.of({ kind: 'lot', key: 'L-R' });
    expect(events.map(({ event }) => event.type).filter((type) => type !== 'act-refused')).toEqual([
      'hold-placed',
      'hold-lifted',
    ]);
  });
});

describe('every other form that acts', () => {
  it('does so once: a hold, a record, a fresh assessment, an account with its link', async () => {
    for (const [person, path, fields] of [
      ['P-OP', '/lots/L-A/acts/hold', { units: 'L-A-I2', reason: 'fell to the floor', password: PASSWORD }],
      ['P-QE', '/lots/L-A/records', {}],
      ['P-QE', '/lots/L-A/assess', {}],
      [
        'P-AD',
        '/people/new/account',
        { person: 'N-1', name: 'Nora Example', identityCheckedOn: '2031-03-04', ownPassword: PASSWORD },
      ],
      ['P-AD', '/people/N-1/give-role', { role: 'operator', reason: 'hired', ownPassword: PASSWORD }],
    ] as const) {
      const number = formNumber();
      const first = await sendForm(as(person), path, fields, number);
      expect([path, first.status]).toEqual([path, 303]);
      await endOfJob(as(person), first);
      const before = await size();
      const again = await sendForm(as(person), path, fields, number);
      expect([path, again.status, again.headers.location]).toEqual([path, 303, first.headers.location]);
      expect([path, await size()]).toEqual([path, before]);
    }
    expect(await cell.services.store.read.records.ofLot('L-A')).toHaveLength(1);
  });

  it('shows a one-time link once, to the session that made it', async () => {
    const { headers } = await sendForm(as('P-AD'), '/people/N-1/link', {
      reason: 'the first was lost',
      ownPassword: PASSWORD,
    });
    expect(headers.location).toBe('/people/N-1/one-time-link');
    expect((await as('P-QE').get(headers.location!)).status).toBe(403);
    const another = await askingAs(app, 'P-AD');
    const link = /\/set-up\/[\w-]{86}/;
    expect((await another.get(headers.location!)).text).not.toMatch(link);
    expect((await as('P-AD').get('/people/P-OP/one-time-link')).text).not.toMatch(link);
    expect((await as('P-AD').head(headers.location!)).status).toBe(200);
    const second = await sendForm(as('P-AD'), '/people/P-OP/link', {
      ownPassword: PASSWORD,
      second: 'P-QE',
      secondPassword: PASSWORD,
    });
    expect((await as('P-AD').get(second.headers.location!)).text).toMatch(link);
    expect((await as('P-AD').get(headers.location!)).text).toMatch(link);
    const { status, text: html } = await as('P-AD').get(headers.location!);
    expect(status).toBe(200);
    expect(html).not.toMatch(link);
    expect(textOf(html)).toContain('It was shown once and is kept nowhere');
  });

  it('carries a number, on every page that has one', async () => {
    const pages = [
      '/lots/L-A/papers',
      '/lots/L-A/acts/hold',
      '/people/P-OP/give-role',
      '/people/new/account',
      '/account',
    ];
    const numbers = new Set<string>();
    for (const path of [
      ...pages,
      signPage('lot file:L-A', 'reviewed'),
      '/withdraw/method/TM-T/1',
      '/lots/L-A/logs/M1-201',
    ]) {
      const { text: html } = await as(path.startsWith('/people') ? 'P-AD' : 'P-QE').get(path);
      const forms = html
        .match(/<form[^>]*method="post"[\s\S]*?<\/form>/g)!
        .filter((form) => !/action="\/(sign-out|calculations)/.test(form));
      if (!path.startsWith('/sign?')) expect([path, forms.length]).not.toEqual([path, 0]);
      for (const form of forms) numbers.add(`${path} ${/name="form-number" value="([\w-]{22})"/.exec(form)![1]}`);
    }
    expect(new Set([...numbers].map((line) => line.split(' ')[1])).size).toBe(numbers.size);
  });

  it('is not offered to an auditor, who changes nothing', async () => {
    const before = await size();
    for (const path of [
      '/lots/L-A',
      '/lots/L-A/papers',
      '/lots/L-A/logs/M1-201',
      '/lots/L-A/acts/hold',
      signPage('lot file:L-A', 'reviewed'),
    ]) {
      const { text: html } = await as('P-AU').get(path);
      const forms = html.match(
        /<form[^>]*method="post"[^>]*action="[^"]*"|<form[^>]*action="[^"]*"[^>]*method="post"/g,
      )!;
      expect([path, forms]).toEqual([path, [expect.stringContaining('/sign-out')]]);
    }
    expect(await size()).toBe(before);
  });
});

describe('looking at a lot file', () => {
  const lotFile = signPage('lot file:L-N', 'reviewed');
  const freezing = '/sign/lots/L-N';

  const frozen = async () => (await cell.services.store.read.lotFiles.latest('L-N'))?.digest;

  it('freezes nothing: one press does, where it was never assessed, and leads to the form', async () => {
    const before = await size();
    expect(textOf((await as('P-AU').get(lotFile)).text)).toContain('is not assessed yet');
    const { text: page } = await as('P-QE').get(lotFile);
    expect(page).toContain(`action="${freezing}"`);
    expect(page).not.toContain('class="sign"');
    expect([await size(), await frozen()]).toEqual([before, undefined]);
    const { status, headers } = await sendForm(as('P-QE'), freezing, { meaning: hiddenIn(page).meaning! });
    expect([status, headers.location]).toEqual([303, lotFile]);
    expect(await frozen()).toMatch(/^[0-9a-f]{64}$/);
    const { text: form } = await as('P-QE').get(lotFile);
    expect(form).toContain('class="sign"');
    expect(form).not.toContain(freezing);
  });

  it('shows the one that is stored where facts came in since, and signs none until they are in it', async () => {
    const earlier = await frozen();
    expect((await sendForm(as('P-QE'), '/sign', await decision('L-N', 'action'))).status).toBe(303);
    const before = await size();
    for (const person of ['P-AU', 'P-QE']) {
      const { text: page } = await as(person).get(lotFile);
      expect(textOf(page)).toContain('Facts came in since this lot file was frozen');
      expect(page).toContain(earlier!.slice(0, 12));
      expect([person, page.includes(freezing)]).toEqual([person, person === 'P-QE']);
      expect(page).not.toContain('class="sign"');
    }
    const things = `lot file:L-N#${earlier}`;
    expect(await size()).toBe(before);
    const old = await sendForm(as('P-QE'), '/sign', { things, meaning: 'reviewed', password: PASSWORD });
    expect([old.status, textOf(old.text)]).toEqual([
      400,
      expect.stringContaining('has changed since you looked at it'),
    ]);
    expect((await sendForm(as('P-QE'), freezing, { meaning: 'reviewed' })).headers.location).toBe(lotFile);
    expect(await frozen()).not.toBe(earlier);
    expect((await as('P-QE').get(lotFile)).text).toContain('class="sign"');
  });

  it('is frozen by nobody who changes nothing, nor without the token', async () => {
    const before = await frozen();
    expect((await sendForm(as('P-AU'), freezing, { meaning: 'reviewed' })).status).toBe(403);
    const forged = sendForm((await askingAs(app, 'P-QE')).set('X-CSRF-Token', 'x'.repeat(43)), freezing, {
      meaning: 'reviewed',
    });
    expect((await forged).status).toBe(403);
    expect(await frozen()).toBe(before);
  });
});

describe('what is offered', () => {
  it('is for a finding at reject level to reject it, and nothing else is signed', async () => {
    const fields = await decision('L-R', 'reject');
    const { text: html } = await as('P-QE').get(signPage(fields.things, 'decided'));
    expect(outcomesIn(html)).toEqual(['rejected']);
    const before = [await size(), await refusals()];
    const accepted = await sendForm(as('P-QE'), '/sign', fields);
    expect(accepted.status).toBe(400);
    expect(textOf(accepted.text)).toMatch(/found accepted for log finding [0-9a-f]{12} of M1-202; needed: rejected/);
    expect([await size(), await refusals()]).toEqual(before);
    expect((await sendForm(as('P-QE'), '/sign', { ...fields, outcome: 'rejected' })).status).toBe(303);
  });

  it.each([
    ['P-RE', signPage('lot file:L-R', 'released'), /nobody has reviewed this lot file as it stands now/],
    ['P-QE', signPage('lot file:L-G', 'reviewed'), /you have signed exactly this already/],
    ['P-AN', '/lots/L-A/acts/lift-hold', /"lift a hold" needs the role quality engineer or regulatory/],
    ['P-OP', '/lots/L-A/acts/revoke', /"revoke a release" needs the role/],
    ['P-AN', '/withdraw/method/TM-T/1', /"withdraw a document for cause" needs the role/],
  ] as const)('is no form to %s where state or role forbid the act', async (person, path, why) => {
    const before = await refusals();
    const { status, text: html } = await as(person).get(path);
    expect(status).toBe(200);
    expect(textOf(html.replaceAll('&quot;', '"'))).toMatch(why);
    expect(html).not.toContain('class="sign"');
    expect(await refusals()).toBe(before);
  });

  it('is a nonconformity where a release is refused for what was found', async () => {
    await cell.review('L-R');
    const { text: html } = await as('P-RE').get(signPage('lot file:L-R', 'released'));
    const [, unit] = /(L-R-I\d) may not be released: .*reject/.exec(textOf(html))!;
    const [, lead] = /href="(\/enter\/nonconformity[^"]+)">Open a nonconformity/.exec(html)!;
    const { status, text: form } = await as('P-OP').get(lead!.replaceAll('&amp;', '&'));
    expect([status, form.includes(`value="${unit}"`)]).toEqual([200, true]);
  });

  it('is told to the releaser with what stands first on the summary of the lot', async () => {
    const listsIn = (html: string) =>
      [...html.matchAll(/<ul class="exceptions">(.*?)<\/ul>/gs)].map(([, list]) =>
        [...list!.matchAll(/<li>(.*?)<\/li>/gs)].map(([, says]) => textOf(says!).trim()),
      );
    const [ofLot] = listsIn((await as('P-RE').get('/lots/L-G')).text);
    expect(ofLot!.length).toBeGreaterThan(0);
    const today = listsIn((await as('P-RE').get('/')).text);
    expect(today).toContainEqual(ofLot);
    expect(listsIn((await as('P-QE').get('/')).text)).toEqual([]);
  });

  it('is no form for units that are decided or on hold, and none for a document that is withdrawn or unknown', async () => {
    await cell.release('L-G', ['L-G-I1']);
    const { text: html } = await as('P-RE').get(signPage('lot file:L-G', 'released'));
    expect(html).toMatch(
      /value="L-G-I1" disabled> L-G-I1: conforms; L-G-I1 was released for distribution by Rita Example/,
    );
    expect(html).toMatch(/value="L-G-I2"> L-G-I2: conforms<\/label>/);
    await cell.release('L-G', ['L-G-I2']);
    const { text: closed } = await as('P-RE').get(signPage('lot file:L-G', 'released'));
    expect(textOf(closed)).toMatch(
      /You may not sign this L-G-I1 was released for distribution by .* already; L-G-I2 was released for distribution by/,
    );
    expect(closed).not.toContain('class="sign"');
    const withdrawal = { reason: 'the grips slip', password: PASSWORD };
    expect((await sendForm(as('P-QE'), '/withdraw/method/TM-T/1', withdrawal)).status).toBe(303);
    expect(textOf((await as('P-QE').get('/withdraw/method/TM-T/1')).text)).toContain(
      'it is withdrawn already: the grips slip',
    );
    expect((await as('P-QE').get('/withdraw/method/TM-T/99')).status).toBe(404);
    expect((await as('P-QE').get('/withdraw/nonsense/TM-T/1')).status).toBe(404);
  });
});
