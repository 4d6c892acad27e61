import type { Browser, Page } from 'playwright-core';
import { createApplication } from '../../src/main.js';
import { accessibilityProblems, openBrowser, signedInContext } from '../support/browser.js';
import { makeCell, writeCell } from '../support/cell.js';
import { addDesigns } from '../support/documents/designs.js';
import { lookAt } from '../support/page-looks.js';
import { PASSWORD } from '../support/people.js';
import { signIn, startTestService, type TestService } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';
import { withTool } from '../support/tools.js';
import { addUnmeasuredLot } from '../support/unmeasured-lot.js';

const declare = () => {
  let service: TestService;
  let browser: Browser;
  let root: string;
  beforeAll(async () => {
    service = await startTestService();
    await service.app.listen(0, '127.0.0.1');
    root = (await service.app.getUrl()).replace('[::1]', '127.0.0.1');
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.close();
  });

  const pageOf = async (person: string, at = root, app = service.app): Promise<Page> =>
    (await signedInContext(browser, at, await signIn(app, person))).newPage();
  const press = (page: Page, button: string) => Promise.all([page.waitForEvent('load'), page.click(button)]);

  it('a form that is begun, wrong, checked and stored', async () => {
    const page = await pageOf('P-OP');
    await page.goto(`${root}/enter/receipt`);
    await page.fill('[name=receipt]', 'R 7');
    await press(page, 'button[value=check]:not([tabindex])');
    expect(await page.textContent('.summary')).toContain('Receipt');
    expect(await lookAt(page, page.url(), 'enter begun')).toEqual([]);
    await page.setInputFiles('input[name="file:certificate.file"]', {
      name: 'certificate.png',
      mimeType: 'image/png',
      buffer: await page.screenshot(),
    });
    await press(page, 'button[value="keep:scans"]');
    expect(await page.$('.scans img')).not.toBeNull();
    expect(await lookAt(page, page.url().split('#')[0]!, 'enter with a scan')).toEqual([]);
    await page.goto(`${root}/enter/supplier`);
    await page.fill('[name=supplier]', 'S-77');
    await page.fill('[name=title]', 'Invented metals');
    await press(page, 'button[value=check]:not([tabindex])');
    expect(await lookAt(page, page.url(), 'enter checked')).toEqual([]);
    await press(page, 'form[action$="/store"] button');
    expect(await lookAt(page, page.url(), 'taken in')).toEqual([]);
  });

  it('a result sheet that one person types, and another one again', async () => {
    await addUnmeasuredLot(service, 'L-9');
    const page = await pageOf('P-AN');
    expect(await lookAt(page, `${root}/sheets/L-9`, 'sheets')).toEqual([]);
    const [sheet] = await page.$$eval('a[href*="/new/"]', (links) => links.map((link) => link.getAttribute('href')!));
    expect(await lookAt(page, root + sheet!, 'sheet')).toEqual([]);
    await press(page, 'button[value=hand]');
    expect(await page.textContent('.summary')).toContain('Measured');
    expect(await lookAt(page, page.url(), 'sheet begun')).toEqual([]);
    const type = async (on: Page) => {
      await on.fill('[name="measuredAt:local"]', '2031-03-05T09:00');
      await on.fill('[name=instrument]', 'I-RIG');
      await on.fill('[name=analyst]', 'P-AN');
      await on.locator('[name^="value:"]').first().fill('231.4');
    };
    await type(page);
    await press(page, 'button[value=hand]');
    expect(await page.textContent('main')).toContain('waiting for a second person');
    const second = await pageOf('P-OP');
    await second.goto(root);
    await press(second, 'a[href*="/again/"]');
    expect(await lookAt(second, second.url(), 'sheet again')).toEqual([]);
    await type(second);
    await press(second, 'button[value=compare]');
    expect(await second.textContent('h1')).toContain('Results stored');
    expect(await lookAt(second, second.url(), 'sheet stored')).toEqual([]);
  });

  it('a token for a program, which is shown once', async () => {
    const page = await pageOf('P-OP');
    expect(await lookAt(page, `${root}/account/tokens`, 'tokens')).toEqual([]);
    await page.fill('[name=name]', 'bench');
    await page.fill('[name=days]', '30');
    await page.fill('[name=ownPassword]', PASSWORD);
    await press(page, 'form[action="/account/tokens"] button');
    expect(new URL(page.url()).pathname).toBe('/account/tokens/bench');
    expect(await accessibilityProblems(page)).toEqual([]);
  });

  it('an upload that waits', async () => {
    const page = await pageOf('P-OP');
    await page.goto(`${root}/intake`);
    await page.setInputFiles('#folder', writeCell(makeCell()));
    await Promise.all([page.waitForURL('**/intake/staged/*'), page.click('form.bring-in button')]);
    expect(await lookAt(page, page.url(), 'staged')).toEqual([]);
  });

  it('a lot planned for a case, step by step', async () => {
    const cell = await SigningCell.open((what) => addDesigns(what, 'L-1', null));
    const app = await createApplication(cell.services.store);
    await app.listen(0, '127.0.0.1');
    const at = (await app.getUrl()).replace('[::1]', '127.0.0.1');
    const page = await pageOf('P-OP', at, app);
    expect(await lookAt(page, `${at}/prepare/new/K-101-1`, 'prepare 1')).toEqual([]);
    for (const step of [2, 3]) {
      if (step === 3) {
        await page.check('input[type=radio][value=PS-1]');
        await page.fill('[name="builds[0].powder[0].chargedG"]', '90');
      }
      await press(page, '.acts button');
      expect(await lookAt(page, page.url(), `prepare ${step}`)).toEqual([]);
    }
    await app.close();
    await cell.close();
  });
};

// Forms in two windows each, beside every-page.test.ts.
if (process.env.LOTWRIGHT_TEST_LONG) {
  withTool('chromium', 'pages that forms lead to, in two windows', declare);
} else {
  describe.skip('pages that forms lead to, in two windows (npm run test:long)', declare);
}
