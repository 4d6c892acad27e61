// usage: npm run pictures: takes the pictures of README.md again, from the demo.
// Wants the Debian packages chromium and poppler-utils.
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { chromium } from 'playwright-core';
import { ensureBuilt, ROOT } from './ensure.mjs';

const LOT = 'L-2026-014';
const PICTURES = path.join(ROOT, 'docs', 'pictures');
/** A desk's window, at three quarters of its size. */
const PAGE = { viewport: { width: 1200, height: 936 }, deviceScaleFactor: 0.75 };
const RECORD_WIDTH = 629;
/** Somebody who may see all and is asked for nothing. */
const READER = 'auditor';

ensureBuilt();
const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-pictures-'));
try {
  const data = path.join(folder, 'demo');
  execFileSync(process.execPath, [path.join(ROOT, 'bundle', 'cli.js'), 'demo', '--data', data], { stdio: 'ignore' });
  await takePage(data);
  takeRecord(path.join(data, 'records', `LR-${LOT}-r1.pdf`));
} finally {
  fs.rmSync(folder, { recursive: true });
}

/** The lot with what blocks it, as a person sees it who is signed in. */
async function takePage(data) {
  const { serve } = await import('../dist/main.js');
  const service = await serve({ data, port: 0, host: '127.0.0.1', logFile: path.join(folder, 'requests.log') });
  const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
  try {
    const page = await browser.newPage(PAGE);
    const { person, password } = readerOf(data);
    await page.goto(`${service.url}/sign-in`);
    await page.fill('#person', person);
    await page.fill('#password', password);
    await Promise.all([page.waitForEvent('load'), page.click('main button')]);
    await page.goto(`${service.url}/lots/${LOT}`);
    await page.screenshot({ path: path.join(PICTURES, 'lot-page.png') });
  } finally {
    await browser.close();
    await service.close();
  }
}

/** A row of `people.txt`: code, password, name, roles. */
function readerOf(data) {
  const rows = fs.readFileSync(path.join(data, 'people.txt'), 'utf8').split('\n');
  const [person, password] = rows.find((row) => row.endsWith(` ${READER}`)).split(/\s+/);
  return { person, password };
}

function takeRecord(file) {
  const scale = ['-scale-to-x', String(RECORD_WIDTH), '-scale-to-y', '-1'];
  const to = path.join(PICTURES, 'record-page');
  execFileSync('pdftoppm', ['-png', '-f', '1', '-singlefile', ...scale, file, to]);
}
