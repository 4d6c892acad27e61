import path from 'node:path';
import type { Browser, CDPSession, Page } from 'playwright-core';
import { type RunningService, serve } from '../../src/main.js';
import { accessibilityProblems, openBrowser, patientContext } from '../support/browser.js';
import { temporaryFolder } from '../support/cell.js';
import { makeTestPeople, PASSWORD } from '../support/people.js';
import { openServices } from '../support/services.js';
import { withTool } from '../support/tools.js';

const declare = () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let root: string;
  let devices: CDPSession;
  let authenticatorId: string;

  beforeAll(async () => {
    const data = path.join(temporaryFolder('passkeys-browser'), 'data');
    const services = await openServices(data);
    await makeTestPeople(services);
    await services.store.close();
    service = await serve({ data, port: 0, host: '127.0.0.1' });
    root = service.url.replace('127.0.0.1', 'localhost');
    browser = await openBrowser();
    page = await (await patientContext(browser)).newPage();
    devices = await page.context().newCDPSession(page);
    await devices.send('WebAuthn.enable');
    ({ authenticatorId } = await devices.send('WebAuthn.addVirtualAuthenticator', {
      options: {
        protocol: 'ctap2',
        transport: 'usb',
        hasUserVerification: true,
        isUserVerified: true,
        automaticPresenceSimulation: true,
      },
    }));
  });
  afterAll(async () => {
    await browser?.close();
    await service?.close();
  });

  async function signIn(): Promise<void> {
    await page.goto(`${root}/sign-in`);
    await page.fill('#person', 'P-AD');
    await page.fill('#password', PASSWORD);
    await press('main button');
  }
  const press = (button: string) => Promise.all([page.waitForEvent('load'), page.click(button)]);

  async function makeAccount(person: string): Promise<void> {
    await page.goto(`${root}/people/new/account`);
    await page.fill('#person', person);
    await page.fill('#name', 'Größe "Example" & Co');
    await page.fill('#identityCheckedOn', '2020-03-01');
    await page.fill('#ownPassword', PASSWORD);
  }

  it('is made on the own account, and needed from then on to sign in and to act', async () => {
    await signIn();
    await page.goto(`${root}/account`);
    await page.fill('#label', 'key on my ring');
    await page.fill('form[data-passkey] #ownPassword', PASSWORD);
    await press('form[data-passkey] button');
    expect(await page.textContent('table[aria-labelledby=passkeys]')).toContain('key on my ring');
    const { credentials } = await devices.send('WebAuthn.getCredentials', { authenticatorId });
    expect(credentials.map(({ rpId }) => rpId)).toEqual(['localhost']);
    expect(await accessibilityProblems(page)).toEqual([]);

    await press('.who button');
    await signIn();
    expect(await page.textContent('h1')).toBe('Your passkey');
    expect(await accessibilityProblems(page)).toEqual([]);
    await press('main button');
    expect(await page.textContent('h1')).toBe('Today');

    await makeAccount('P-BY-KEY');
    await press('main button');
    expect(await page.textContent('main pre')).toContain('/set-up/');
    const [used] = (await devices.send('WebAuthn.getCredentials', { authenticatorId })).credentials;
    expect(used!.signCount).toBeGreaterThanOrEqual(3);
  });

  it('sends nothing when the authenticator verifies nobody, and says why', async () => {
    await devices.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified: false });
    await makeAccount('P-UNVERIFIED');
    await page.click('main button');
    await page.waitForSelector('[data-passkey-says]:not([hidden])');
    expect(await page.textContent('[data-passkey-says]')).toContain('nothing was sent');
    await devices.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified: true });
    await press('main button');
    expect(await page.textContent('main pre')).toContain('/set-up/');
  });
};

// A browser and six pages, for what the other suites hold with an authenticator of our own.
if (process.env.LOTWRIGHT_TEST_LONG) {
  withTool('chromium', 'a passkey in a browser, with an authenticator that the browser plays', declare);
} else {
  describe.skip('a passkey in a browser (npm run test:long)', declare);
}
