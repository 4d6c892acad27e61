import fs from 'node:fs';
import path from 'node:path';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { restoreBackup } from '../../src/custody/restore.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { soleSubject } from '../../src/dossier/statement.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { makeCellWithHistory, siteOf, temporaryFolder, writeCell } from '../support/cell.js';
import { atMoment, SITE_DAY } from '../support/clock-ahead.js';
import { PASSWORD, provedActs } from '../support/people.js';
import { programHold } from '../support/program-hold.js';
import { openServices, type Services } from '../support/services.js';
import { signWhatCameIn } from '../support/sign-cell.js';
import { killedAt, killsOf, lotwright, momentsOf, tellKills, wholeLife } from './command.js';

/** A few kills in the daily run, hundreds in the long one. */
const LONG = process.env.LOTWRIGHT_TEST_LONG;
const KILLS = killsOf(100, 1);

const ACTOR = 'local:tester';
const LETTER = 'an invented letter';
let whole: string;

/** A folder with one lot whose documents and results are signed, ready to be assessed, reviewed and saved. */
beforeAll(async () => {
  whole = path.join(temporaryFolder('whole'), 'data');
  // No copy of the one that other suites begin with: its first entry is of a later day than the site.
  await atMoment(SITE_DAY, async () => (await Store.open(DataFolder.open(whole))).close());
  const services = await openServices(whole);
  const cell = makeCellWithHistory(1);
  cell.documents['lots/L-1/lot.yaml']!.attachments = [{ file: 'attachments/letter.txt', title: 'letter' }];
  cell.files['lots/L-1/attachments/letter.txt'] = LETTER;
  await atMoment(SITE_DAY, async () => {
    await services.intake.run(writeCell(siteOf(cell)), ACTOR);
    await signWhatCameIn(services);
  });
  await provedActs(services).giveRole('P-AD', 'P-RE', 'regulatory');
  await services.intake.run(writeCell(cell), ACTOR);
  await signWhatCameIn(services);
  // One more document, which nobody has signed yet.
  cell.documents['site/method-size-2.yaml'] = { ...cell.documents['site/method-size.yaml'], revision: 2 };
  await services.intake.run(writeCell(cell), ACTOR);
  await services.store.close();
});

/** One kind of act: how it is asked for, how its acknowledgement looks, and what must hold whether or not it was cut off. */
interface Act {
  readonly name: string;
  readonly words: (folder: string) => string[];
  readonly input?: string;
  readonly acknowledged: (answer: string) => boolean;
  readonly check: (services: Services, acknowledged: boolean, folder: string) => Promise<void>;
}

async function killAtManyMoments(act: Act): Promise<void> {
  const copy = () => {
    const folder = temporaryFolder('killed');
    const data = path.join(folder, 'data');
    fs.cpSync(whole, data, { recursive: true });
    return { folder, data, words: ['--json', ...act.words(folder)] };
  };
  const check = async ({ folder, data }: ReturnType<typeof copy>, answer: string) => {
    const services = await openServices(data);
    try {
      expect(await services.store.verifyLedger({ files: true })).toMatchObject({ ok: true });
      await act.check(services, act.acknowledged(answer), folder);
      expect(await services.store.verifyLedger()).toMatchObject({ ok: true });
    } finally {
      await services.store.close();
      fs.rmSync(folder, { recursive: true });
    }
  };
  const undisturbed = copy();
  const { answer, ms: wholeMs } = await wholeLife(undisturbed.data, undisturbed.words, act.input);
  expect(act.acknowledged(answer)).toBe(true);
  await check(undisturbed, answer);
  let acknowledged = 0;
  for (const [kill, ms] of momentsOf(KILLS, wholeMs).entries()) {
    const killed = copy();
    // Each fourth as soon as it says that it is done: whatever it still does then must not be needed.
    const moment = kill % 4 === 1 ? act.acknowledged : ms;
    const said = await killedAt(moment, killed.data, killed.words, act.input);
    if (act.acknowledged(said)) acknowledged += 1;
    await check(killed, said);
  }
  tellKills(act.name, KILLS, acknowledged);
}

it('assessment: lot file and assessment are there together or not at all, and assessing again gives the same', async () => {
  const digests = new Set<string>();
  await killAtManyMoments({
    name: 'assess',
    words: () => ['assess', 'L-1'],
    acknowledged: (answer) => answer.includes('"dossier"'),
    check: async ({ store, assessor }, acknowledged) => {
      const assessment = await store.read.assessments.latest('L-1');
      if (acknowledged) expect(assessment).toBeDefined();
      if (assessment) {
        const dossier = (await store.read.lotFiles.latest('L-1'))!;
        expect(dossier.digest).toBe(assessment.dossierDigest);
      }
      digests.add((await assessor.assess('L-1', ACTOR)).dossierSha256);
    },
  });
  expect(digests.size).toBe(1);
});

it('signing: a signature that was acknowledged is there, one that was not can be given', async () => {
  const words = ['sign', 'method:TM-S@2', '--person', 'P-PE', '--meaning', 'performed', '--password-stdin'];
  const things = [{ kind: 'method', key: 'TM-S', revision: 2, digest: null }];
  await killAtManyMoments({
    name: 'sign',
    words: () => words,
    input: `${PASSWORD}\n`,
    acknowledged: (answer) => answer.includes('"signed"'),
    check: async ({ store, accounts, signing }, acknowledged) => {
      const signatures = async () =>
        (await store.read.signatures.of({ kind: 'method', key: 'TM-S' })).filter(
          ({ signed }) => soleSubject(signed.statement).revision === 2,
        ).length;
      const before = await signatures();
      expect(before).toBeLessThanOrEqual(1);
      if (acknowledged) expect(before).toBe(1);
      if (before === 1) return;
      await signing.sign(await accounts.prove('P-PE', PASSWORD), { things, meaning: 'performed' });
      expect(await signatures()).toBe(1);
    },
  });
});

it('backup: the archive is there and restores, or is not there; what was begun has another name', async () => {
  await killAtManyMoments({
    name: 'backup',
    words: (folder) => ['backup', path.join(folder, 'backup.zip')],
    acknowledged: (answer) => answer.includes('"manifestSha256"'),
    check: async ({ store }, acknowledged, folder) => {
      const file = path.join(folder, 'backup.zip');
      if (acknowledged) {
        expect(fs.existsSync(file)).toBe(true);
        expect(await store.read.events.ofTypes(['backup-made'])).toHaveLength(1);
      }
      if (!fs.existsSync(file)) return;
      const { integrity } = await restoreBackup(file, path.join(folder, 'restored'), ACTOR);
      expect(integrity.faults).toEqual([]);
    },
  });
});

it.runIf(LONG)('legal hold: one that was acknowledged stands, one that was not can be placed', async () => {
  const placed = ({ store }: Services) => store.read.events.ofTypes(['legal-hold-placed']);
  await killAtManyMoments({
    name: 'legal hold',
    words: () => ['legal-hold', 'place', 'L-1', '--person', 'P-QE', '--reason', 'a complaint', '--password-stdin'],
    input: `${PASSWORD}\n`,
    acknowledged: (answer) => answer.includes('"legalHold"'),
    check: async (services, acknowledged) => {
      const before = (await placed(services)).length;
      expect(before).toBeLessThanOrEqual(1);
      if (acknowledged) expect(before).toBe(1);
    },
  });
});

it.runIf(LONG)(
  'redaction: one that was acknowledged is told and its bytes are gone; a check ends one that was cut off',
  async () => {
    const sha256 = sha256Hex(LETTER);
    const words = ['redact', sha256, '--person', 'P-QE', '--second', 'P-RE', '--reason', 'a name', '--password-stdin'];
    await killAtManyMoments({
      name: 'redact',
      words: () => words,
      input: `${PASSWORD}\n${PASSWORD}\n`,
      acknowledged: (answer) => answer.includes('"redactedAt"'),
      check: async ({ store }, acknowledged) => {
        const told = (await store.read.events.ofTypes(['evidence-redacted'])).length;
        const bytes = async () => fs.existsSync(await store.evidence.pathOf(sha256).catch(() => ''));
        expect(told).toBeLessThanOrEqual(1);
        if (acknowledged) expect([told, await bytes()]).toEqual([1, false]);
        expect((await checkIntegrity(store)).faults).toEqual([]);
        expect(await bytes()).toBe(told === 0);
      },
    });
  },
);

it.runIf(LONG)(
  'record: one that was acknowledged is whole and in the audit trail, and another can be issued',
  async () => {
    await killAtManyMoments({
      name: 'record',
      words: () => ['record', 'L-1'],
      acknowledged: (answer) => answer.includes('"number"'),
      check: async ({ store, issuer }, acknowledged) => {
        const before = (await store.read.records.ofLot('L-1')).length;
        expect(before).toBeLessThanOrEqual(1);
        if (acknowledged) expect(before).toBe(1);
        await issuer.issue('L-1', ACTOR);
        expect(await store.verifyLedger({ files: true })).toMatchObject({ ok: true });
      },
    });
  },
);

it.runIf(LONG)('a new key: the folder opens with the old one or the new one, and goes on under it', async () => {
  await killAtManyMoments({
    name: 'keys rotate',
    words: () => ['keys', 'rotate', '--reason', 'yearly change'],
    acknowledged: (answer) => answer.includes('"fingerprint"'),
    check: async ({ store }, acknowledged) => {
      const made = await store.read.events.ofTypes(['key-made']);
      expect(made.length).toBeLessThanOrEqual(2);
      if (acknowledged) expect(made).toHaveLength(2);
      expect(made.at(-1)!.event).toMatchObject({ publicPem: store.key.publicPem });
      await store.change(ACTOR, (change) => change.events.add(programHold(), 'pores'));
    },
  });
});

it('restore: what was cut off is no data folder, says so, and leaves the backup as it was', async () => {
  const folder = temporaryFolder('restore');
  const file = path.join(folder, 'backup.zip');
  expect(lotwright(whole, 'backup', file).code).toBe(0);
  const undisturbed = path.join(folder, 'undisturbed');
  const { answer: said, ms: wholeMs } = await wholeLife(undisturbed, ['--json', 'restore', file]);
  expect(said).toContain('"folder"');
  // The backup holds no keys, and the check is an entry of the audit trail.
  const putKeyBack = (data: string) =>
    fs.cpSync(path.join(whole, 'keys', 'installation.pem'), path.join(data, 'keys', 'installation.pem'));
  expect(lotwright(undisturbed, 'check').code).toBe(6);
  putKeyBack(undisturbed);
  expect(lotwright(undisturbed, 'check').code).toBe(0);
  let acknowledged = 0;
  for (const ms of momentsOf(KILLS, wholeMs)) {
    const data = path.join(folder, `data-${Math.round(ms)}`);
    const answer = await killedAt(ms, data, ['--json', 'restore', file]);
    if (answer.includes('"folder"')) {
      acknowledged += 1;
      putKeyBack(data);
      expect(lotwright(data, 'check').code).toBe(0);
    } else if (fs.existsSync(data) && !fs.existsSync(path.join(data, 'folder.json'))) {
      if (fs.readdirSync(data).length === 0) continue;
      const again = lotwright(data, 'restore', file);
      expect([again.code, again.err]).toEqual([2, expect.stringMatching(/interrupted restore|not empty/)]);
      expect(lotwright(data, 'status').code).toBe(2);
    }
  }
  tellKills('restore', KILLS, acknowledged);
});
