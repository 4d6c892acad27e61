// A page with a hundred findings of one kind: looking at it, and deciding all of them with one password.
import path from 'node:path';
import { Intake } from '../../dist/intake/intake.js';
import { LotAssessor } from '../../dist/lots/lot-assessor.js';
import { createApplication } from '../../dist/main.js';
import { AccountActs } from '../../dist/people/account-acts.js';
import { AccountLinks } from '../../dist/people/account-links.js';
import { Accounts } from '../../dist/people/accounts.js';
import { Signing } from '../../dist/signing/signing.js';
import { thingFrom } from '../../dist/signing/thing.js';
import { WaitingList } from '../../dist/signing/waiting-list.js';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';
import { formNumber, NUMBER_FIELD } from '../../dist/web/form-once.js';
import '../support/bench-clock.mjs';
import '../support/typescript.mjs';

const FINDINGS = 100;
const RUNS = 3;
const ACTOR = 'local:bench';

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

export async function run() {
  // The small cell of the tests removes its folders when a suite ends; here that is the end of this function.
  const cleanups = [];
  globalThis.afterAll = (work) => cleanups.push(work);
  const support = { ...(await import('../support/cell.ts')), ...(await import('../support/people.ts')) };
  try {
    const times = [];
    for (let i = 0; i < RUNS; i++) times.push(await oneRun(support));
    return [
      { name: 'sign page with 100 findings, many alike as one', figure: median(times.map(({ page }) => page)) },
      {
        name: '100 findings, many alike as one, decided with one password',
        figure: median(times.map(({ sign }) => sign)),
      },
      {
        name: 'one signature with its password and the key of its person, processor time',
        figure: median(times.map(({ oneMs }) => oneMs)),
      },
    ];
  } finally {
    for (const work of cleanups) work();
  }
}

async function oneRun(support) {
  const { app, oneMs } = await prepared(support);
  const store = app.get(Store);
  try {
    await app.listen(0, '127.0.0.1');
    const root = await app.getUrl();
    const headers = await signedIn(root, support.PASSWORD);
    const found = (await store.read.logs.ofLot('L-1')).flatMap((log) => log.part.findings);
    const acting = found.filter(({ level }) => level === 'action').length;
    if (acting !== FINDINGS) throw new Error(`there are ${acting} findings instead of ${FINDINGS}`);
    const waiting = (await app.get(WaitingList).all()).filter(
      ({ lot, meaning }) => lot === 'L-1' && meaning === 'decided',
    );
    // One act takes things of one kind: what the log says, alone or many alike as one.
    const things = [...new Set(waiting.map(({ thing }) => thing))].filter((thing) => thing.startsWith('log finding'));
    const query = new URLSearchParams([['meaning', 'decided'], ...things.map((thing) => ['thing', thing])]);
    // Node takes 16 kB of head: a hundred things in an address are within that.
    const page = await seconds(() => fetch(`${root}/sign?${query}`, { headers }));
    const fields = {
      outcome: 'accepted',
      reason: 'an invented rationale',
      password: support.PASSWORD,
      [NUMBER_FIELD]: formNumber(),
    };
    const named = things.map((thing) => ['things', thing]);
    const body = new URLSearchParams([['meaning', 'decided'], ...named, ...Object.entries(fields)]);
    const sign = await seconds(() => fetch(`${root}/sign`, { method: 'POST', headers, body }));
    return { page, sign, oneMs };
  } finally {
    await app.close();
    await store.close();
  }
}

/** A lot in whose log a hundred seconds lie above the action level, and two engineers who may decide. */
async function prepared({ makeCell, writeCell, temporaryFolder, logText, makeTestPeople, PASSWORD }) {
  const cell = makeCell();
  const [head, ...rows] = logText('2031-03-03', () => 8)
    .trimEnd()
    .split('\n');
  const halves = rows.flatMap((row, second) => {
    const [at, layer, zone, step] = row.split(',');
    const half = new Date(Date.parse(at) + 500).toISOString();
    const first = [at, layer, zone, step, second < FINDINGS ? 60 : 8].join(',');
    return second === rows.length - 1 ? [first] : [first, [half, layer, zone, step, 8].join(',')];
  });
  cell.files['lots/L-1/logs/run.csv'] = `${[head, ...halves].join('\n')}\n`;
  cell.documents['lots/L-1/lot.yaml'].builds[0].log.nominalPeriodMs = 500;
  cell.documents['site/people/process.yaml'] = {
    kind: 'person',
    format: 1,
    person: 'P-PE',
    name: 'Pia Example',
    function: 'process engineer',
    qualifications: [{ operation: 'decisions on findings', from: '2020-01-02' }],
  };
  const data = DataFolder.open(path.join(temporaryFolder('bench-signing'), 'data'));
  const app = await createApplication(await Store.open(data));
  const accounts = app.get(Accounts);
  await app.get(Intake).run(writeCell(cell), ACTOR);
  const accountLinks = app.get(AccountLinks);
  await makeTestPeople({ accounts, accountActs: app.get(AccountActs), accountLinks, store: app.get(Store) });
  const things = [thingFrom('qualification:P-PE:decisions on findings')];
  const begun = process.cpuUsage();
  await app.get(Signing).sign(await accounts.prove('P-QE', PASSWORD), { things, meaning: 'approved' });
  const { user, system } = process.cpuUsage(begun);
  await app.get(LotAssessor).assess('L-1', ACTOR);
  return { app, oneMs: (user + system) / 1000 };
}

async function signedIn(root, password) {
  const answer = await fetch(`${root}/api/v1/session`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ person: 'P-PE', password }),
  });
  const { csrf } = await answer.json();
  return { Cookie: answer.headers.get('set-cookie').split(';')[0], 'X-CSRF-Token': csrf };
}

async function seconds(ask) {
  const begun = performance.now();
  const answer = await ask();
  const text = await answer.text();
  if (!answer.ok) throw new Error(`the page answered ${answer.status}: ${text.slice(0, 200)}`);
  return (performance.now() - begun) / 1000;
}
