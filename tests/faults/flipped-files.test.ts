import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../../src/base/errors.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { AnchorFile } from '../../src/store/anchor-file.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { KeptFiles } from '../../src/store/kept-files.js';
import { Store } from '../../src/store/store.js';
import { cellWithRecord } from '../custody/folder.js';
import { uniformNumbers } from '../support/numbers.js';

const LONG = Boolean(process.env.LOTWRIGHT_TEST_LONG);
const SEED = 20311130;
/** Each so often the whole check is asked, which looks at everything. */
const WHOLE_CHECK = 100;

let data: string;
let folder: DataFolder;
let random: () => number;

beforeAll(async () => {
  const { services, data: made } = await cellWithRecord();
  data = made;
  // The tests of the keys open it anew at each start.
  await services.store.close();
  folder = DataFolder.open(data);
});

/** Changes one bit of a file, lets somebody look, and puts it back. */
async function flipped<T>(file: string, look: (at: number) => Promise<T>): Promise<T> {
  const whole = fs.readFileSync(file);
  const at = Math.floor(random() * whole.length);
  const damaged = Buffer.from(whole);
  damaged[at] = damaged[at]! ^ (1 << Math.floor(random() * 8));
  const { mode } = fs.statSync(file);
  fs.chmodSync(file, 0o600);
  fs.writeFileSync(file, damaged);
  try {
    return await look(at);
  } finally {
    fs.writeFileSync(file, whole);
    fs.chmodSync(file, mode);
  }
}

const filesUnder = (place: string): string[] =>
  fs
    .readdirSync(place, { recursive: true, encoding: 'utf8' })
    .map((name) => path.join(place, name))
    .filter((file) => fs.statSync(file).size > 0 && fs.statSync(file).isFile());

const of = (count: number) => (LONG ? count : Math.ceil(count / 100));

function tell(what: string, changes: number, named: number): void {
  if (LONG)
    console.log(`${what}: ${changes} single bits changed from seed ${SEED}, ${named} named, the others mean the same`);
}

describe('a single byte that was changed in what is kept beside the database', () => {
  it.each(['evidence', 'records', 'archives'] as const)('%s: is named every time', async (what) => {
    random = uniformNumbers(SEED);
    const kept = new KeptFiles(folder);
    const files = filesUnder(folder[what]).filter((file) => what !== 'evidence' || /[0-9a-f]{64}$/.test(file));
    const faultOf = async (file: string) => {
      if (what === 'evidence') return kept.evidenceFault(path.basename(file));
      if (what === 'records') return kept.recordFault('LR-L-1', 1, recordSha256);
      const log = path.basename(file).slice(0, 64);
      return kept.archiveFault(log, (await store.read.logs.archiveOf(log))!);
    };
    const store = await Store.open(folder);
    const [record] = await store.read.records.all();
    const recordSha256 = record!.fileSha256;
    const changes = of(what === 'evidence' ? 2000 : 1000);
    for (let change = 0; change < changes; change += 1) {
      const file = files[Math.floor(random() * files.length)]!;
      await flipped(file, async (at) => {
        expect([file, at, await faultOf(file)]).toEqual([
          file,
          at,
          expect.objectContaining({ code: expect.any(String) }),
        ]);
        if (change % WHOLE_CHECK > 0) return;
        const { faults } = await checkIntegrity(store);
        expect([file, at, faults.length]).toEqual([file, at, 1]);
      });
    }
    await store.close();
    tell(what, changes, changes);
  });

  it('keys: the start names it, or nothing that a key or the anchor says is another', async () => {
    random = uniformNumbers(SEED);
    const keyFile = path.join(data, 'keys', 'installation.pem');
    const anchor = AnchorFile.beside(data);
    const { firstKey, head } = anchor.read();
    const changes = of(1000);
    let named = 0;
    for (let change = 0; change < changes; change += 1) {
      await flipped(change % 2 === 0 ? keyFile : anchor.file, async (at) => {
        try {
          const store = await Store.open(folder);
          const { fingerprint, isHeld } = store.key;
          await store.close();
          expect([at, fingerprint, isHeld]).toEqual([at, firstKey, true]);
          const read = anchor.read();
          expect([at, read.firstKey]).toEqual([at, firstKey]);
          // Without the end of its last line the anchor covers less, as after a sudden end of the machine.
          if (at < fs.statSync(anchor.file).size - 1 || change % 2 === 0) expect([at, read.head]).toEqual([at, head]);
        } catch (error) {
          if (!(error instanceof AppError)) throw error;
          expect(error.code).toMatch(/^(?:ALTERED|CONFLICT)$/);
          named += 1;
        }
      });
    }
    expect(named).toBeGreaterThan(0);
    tell('keys and anchor', changes, named);
    const store = await Store.open(folder);
    expect((await checkIntegrity(store)).faults).toEqual([]);
    await store.close();
  });
});
