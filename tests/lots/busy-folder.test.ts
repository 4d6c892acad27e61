import { spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { vi } from 'vitest';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import type { Change } from '../../src/store/repositories.js';
import type { Store } from '../../src/store/store.js';
import { addLot, type Cell, logText, makeCell, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';
import { finishLots, refusalOf, SigningCell, trainDeciders } from '../support/signing-cell.js';

/** Others write while a lot is frozen, a folder taken in, a signature given: only what the act rests on counts. */

const ACTOR = 'local:tester';
const OTHER = 'local:other';

let cell: SigningCell;
/** Another program on the same folder, as a command beside a service. */
let other: Services;

beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    for (const [lot, run] of [
      ['L-2', 102],
      ['L-3', 103],
    ] as const) {
      addLot(what, lot, run, '2031-02-10', { rm: 230, thickness: 1.5 });
    }
  });
  other = await openServices(cell.folder.path);
});
afterAll(async () => {
  await other.store.close();
  await cell.close();
});
afterEach(() => {
  vi.restoreAllMocks();
});

let written = 0;
const unrelated = () =>
  other.store.change(OTHER, (change) => {
    written += 1;
    const body = { kind: 'supplier', format: 1, supplier: `S-${written}`, title: 'Invented' };
    return change.entries.add({ kind: 'supplier', key: body.supplier, name: body.title, body, links: [] });
  });

/** One more revision of the family, on which every lot file rests. */
async function related(): Promise<void> {
  const { body, name } = await other.store.read.entries.currentOrThrow('family', 'PLATE');
  await other.store.change(OTHER, (change) =>
    change.entries.add({ kind: 'family', key: 'PLATE', name, body, links: [], reason: 'typed again' }),
  );
}

type Door = (actor: string, work: (change: Change) => Promise<unknown>) => Promise<unknown>;

/**
 * Lets the other program write right before each change of a store, behind everything that was read for it.
 * @returns how often it did.
 */
function writingBefore(store: Store, write: (time: number) => Promise<unknown>): () => number {
  const change = store.change.bind(store) as Door;
  let times = 0;
  vi.spyOn(store, 'change').mockImplementation((async (actor, work) => {
    times += 1;
    await write(times);
    return change(actor, work);
  }) as Door as Store['change']);
  return () => times;
}

const familyOf = ({ facts }: { facts: { dossier: { pinned: readonly { kind: string; revision: number }[] } } }) =>
  facts.dossier.pinned.find(({ kind }) => kind === 'family')!.revision;
const currentFamily = async () => (await other.store.read.entries.currentOrThrow('family', 'PLATE')).revision;

describe('freezing', () => {
  it('goes on at once whatever others write that the lot file does not rest on', async () => {
    const times = writingBefore(cell.services.store, unrelated);
    const { dossierSha256 } = await cell.services.assessor.assess('L-1', ACTOR);
    expect(times()).toBe(1);
    expect((await cell.services.store.read.lotFiles.latest('L-1'))?.digest).toBe(dossierSha256);
  });

  it('takes in what came meanwhile and concerns the lot, and ends although it never stops coming', async () => {
    const before = await currentFamily();
    writingBefore(cell.services.store, (time) => (time === 1 ? related() : unrelated()));
    expect(familyOf(await cell.services.assessor.assess('L-1', ACTOR))).toBe(before + 1);
    vi.restoreAllMocks();
    const times = writingBefore(cell.services.store, related);
    const assessed = await cell.services.assessor.assess('L-1', ACTOR);
    expect(times()).toBeGreaterThan(1);
    expect(familyOf(assessed)).toBe(before + 1 + times());
    expect(familyOf(assessed)).toBe(await currentFamily());
  });
});

describe('signing', () => {
  it('goes on whatever others write that does not change what is signed', async () => {
    writingBefore(cell.services.store, unrelated);
    const review = await cell.review('L-2');
    expect(review.statement.subjects[0]!.digest).toBe((await other.store.read.lotFiles.latest('L-2'))?.digest);
    const released = await cell.release('L-2', ['L-2-I1']);
    expect(released.statement.units).toEqual(['L-2-I1']);
  });

  it('never covers a lot file that was overtaken while it was signed', async () => {
    // Proof of identity, freezing, signing: the family changes behind the freezing.
    writingBefore(cell.services.store, (time) => (time === 2 ? related() : unrelated()));
    const review = await cell.review('L-3');
    const assessed = await other.assessor.assess('L-3', OTHER);
    expect(review.statement.subjects[0]!.digest).toBe(assessed.dossierSha256);
    expect(familyOf(assessed)).toBe(await currentFamily());
  });

  it('says so when what is signed has changed since it was looked at', async () => {
    const { dossierSha256 } = await cell.services.assessor.assess('L-3', ACTOR);
    writingBefore(cell.services.store, related);
    const act = cell.sign('P-QE', `lot file:L-3#${dossierSha256}`, { meaning: 'reviewed' });
    expect(await refusalOf(act)).toMatch(/^CONFLICT: .*has changed since you looked at it/);
  });
});

const folderWith = (lot: string, run: number, change: (fresh: Cell) => void = () => {}) => {
  const fresh = makeCell();
  trainDeciders(fresh);
  addLot(fresh, lot, run, '2031-03-04', { rm: 231, thickness: 1.51 });
  finishLots(fresh);
  fresh.files[`lots/${lot}/logs/run.csv`] = logText('2031-03-04', () => 8 + run / 1000);
  change(fresh);
  return writeCell(fresh);
};

describe('intake', () => {
  it('goes on whatever others write, and reads each log once', async () => {
    writingBefore(cell.services.store, unrelated);
    const scanned: string[] = [];
    const report = await cell.services.intake.run(folderWith('L-10', 110), ACTOR, {
      onProgress: (file, { doneBytes, totalBytes }) => {
        if (doneBytes === totalBytes) scanned.push(file);
      },
    });
    expect(report.documents).toContainEqual({ kind: 'lot', key: 'L-10', revision: 1 });
    expect(scanned.filter((file) => file.includes('L-10'))).toHaveLength(1);
  });

  it('of one folder by two programs at once stores everything once', async () => {
    const folder = folderWith('L-11', 111);
    let begun = false;
    writingBefore(cell.services.store, async () => {
      // Behind the check, while the log is about to be scanned.
      if (begun) return;
      begun = true;
      await other.intake.run(folder, OTHER);
    });
    await cell.services.intake.run(folder, ACTOR);
    expect(begun).toBe(true);
    const { rows } = await other.store.read.results.ofLot('L-11');
    expect(rows.map(({ status }) => status)).toEqual(Array(6).fill('current'));
    expect(await other.store.read.entries.revisions('lot', 'L-11')).toHaveLength(1);
  });

  it('is refused when what others stored meanwhile contradicts it, and leaves nothing behind', async () => {
    const withMethod = (title: string) => (fresh: Cell) => {
      const [name, method] = Object.entries(fresh.documents).find(([, body]) => body.kind === 'method')!;
      fresh.documents[`${name}-2.yaml`] = { ...method, revision: 9, title };
    };
    const own = folderWith('L-12', 112, withMethod('ours'));
    const theirs = folderWith('L-13', 113, withMethod('theirs'));
    let begun = false;
    writingBefore(cell.services.store, async () => {
      if (begun) return;
      begun = true;
      await other.intake.run(theirs, OTHER);
    });
    const before = await cell.services.store.evidence.list();
    await expect(cell.services.intake.run(own, ACTOR)).rejects.toMatchObject({
      code: 'BAD_INPUT',
      facts: { stored: [] },
    });
    expect(await other.store.read.entries.current('lot', 'L-12')).toBeUndefined();
    const added = (await cell.services.store.evidence.list()).filter((name) => !before.includes(name));
    for (const sha256 of added) expect(await other.store.read.evidence.info(sha256)).toBeDefined();
  });

  it('says which part was stored when what others stored meanwhile contradicts a later one', async () => {
    let log = '';
    const own = folderWith('L-16', 116, (fresh) => {
      const [name, method] = Object.entries(fresh.documents).find(([, one]) => one.kind === 'method')!;
      fresh.documents[`${name}-2.yaml`] = { ...method, method: 'TM-14', revision: 1 };
      log = fresh.files['lots/L-16/logs/run.csv']!;
    });
    const theirs = folderWith('L-17', 117, (fresh) => {
      fresh.files['lots/L-17/logs/run.csv'] = log;
      // The other lot of the folder is being scanned.
      for (const part of [fresh.documents, fresh.files, fresh.sheets]) {
        for (const name of Object.keys(part)) if (name.startsWith('lots/L-1/')) delete part[name];
      }
    });
    let begun = false;
    writingBefore(cell.services.store, async () => {
      if (begun || !(await other.store.read.entries.current('method', 'TM-14'))) return;
      begun = true;
      await other.intake.run(theirs, OTHER);
    });
    await expect(cell.services.intake.run(own, ACTOR)).rejects.toMatchObject({
      code: 'BAD_INPUT',
      facts: { stored: ['the documents of the site', 'lot L-1'] },
    });
    expect(begun).toBe(true);
  });
});

it('all of it goes on while another program writes without a pause', async () => {
  const tests = path.join(PROGRAM_ROOT, 'tests');
  const child = path.join(tests, 'lots', 'busy-folder-child.ts');
  const { NODE_OPTIONS: _unused, ...env } = process.env;
  const words = ['--import', path.join(tests, 'support', 'typescript.mjs'), child, cell.folder.path];
  const writing = spawn(process.execPath, words, { stdio: ['ignore', 'pipe', 'inherit'], env });
  let entries = 0;
  writing.stdout.setEncoding('utf8').on('data', (text: string) => {
    entries += text.split('\n').length - 1;
  });
  await once(writing.stdout, 'data');
  const ended = once(writing, 'close');
  const before = entries;
  try {
    await cell.services.assessor.assess('L-1', ACTOR);
    await cell.review('L-1');
    await cell.release('L-1', ['L-1-I1']);
    await cell.services.intake.run(folderWith('L-14', 114), ACTOR);
  } finally {
    writing.kill('SIGKILL');
    await ended;
  }
  expect(entries).toBeGreaterThan(before);
  expect(await other.store.read.entries.current('lot', 'L-14')).toBeDefined();
  expect((await other.store.verifyLedger()).ok).toBe(true);
});
