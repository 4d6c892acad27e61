import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { vi } from 'vitest';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { EvidenceFiles } from '../../src/store/evidence/evidence-files.js';
import { temporaryFolder } from './open-store.js';

let folder: string;
let remove: () => void;
let evidence: EvidenceFiles;

const put = (name: string, content: string | Buffer): string => {
  const file = path.join(folder, name);
  fs.writeFileSync(file, content);
  return file;
};

const leftovers = (): string[] => fs.readdirSync(path.join(folder, 'evidence', 'incoming'));

afterEach(() => {
  vi.restoreAllMocks();
});

/** Lets somebody change a file as soon as a first piece of it was read. */
function changeWhileRead(source: string, change: (source: string) => void): void {
  const open = fs.promises.open;
  vi.spyOn(fs.promises, 'open').mockImplementation(async (file, ...how) => {
    const handle = await open(file, ...how);
    if (file !== source) return handle;
    const read = handle.read.bind(handle) as (...values: unknown[]) => Promise<{ bytesRead: number }>;
    let pieces = 0;
    return Object.assign(handle, {
      read: async (...values: unknown[]) => {
        const piece = await read(...values);
        pieces += 1;
        if (pieces === 1) change(source);
        return piece;
      },
    });
  });
}

beforeEach(() => {
  ({ folder, remove } = temporaryFolder());
  evidence = EvidenceFiles.inFolder(path.join(folder, 'evidence'));
});
afterEach(() => remove());

describe('evidence files', () => {
  it('are named by the SHA-256 of their bytes, whatever these are, and cannot be written', async () => {
    const bytes = Buffer.alloc(3_000_000, 7);
    const kept = await evidence.keep(put('big.bin', bytes));
    expect(kept).toEqual({ sha256: sha256Hex(bytes), bytes: bytes.length });
    expect(fs.readFileSync(await evidence.pathOf(kept.sha256)).equals(bytes)).toBe(true);
    expect(fs.statSync(await evidence.pathOf(kept.sha256)).mode & 0o777).toBe(0o444);
    expect(leftovers()).toEqual([]);
    await evidence.verify(kept.sha256);
  });

  it('are kept once, however often and under whatever name they come', async () => {
    const first = await evidence.keep(put('a.csv', 'x'));
    expect(await evidence.keep(put('b.csv', 'x'))).toEqual(first);
    await Promise.all([evidence.keep(put('c.csv', 'y')), evidence.keep(put('d.csv', 'y'))]);
    expect(await evidence.list()).toEqual([sha256Hex('x'), sha256Hex('y')].sort());
    expect(leftovers()).toEqual([]);
  });

  it('may be empty', async () => {
    expect(await evidence.keep(put('empty', ''))).toEqual({ sha256: sha256Hex(''), bytes: 0 });
  });

  it('refuse links, folders and pipes', async () => {
    fs.symlinkSync(put('target', 'secret'), path.join(folder, 'link'));
    execFileSync('mkfifo', [path.join(folder, 'pipe')]);
    for (const name of ['link', 'pipe', 'evidence']) {
      await expect(evidence.keep(path.join(folder, name))).rejects.toThrow('is not a plain file');
    }
    await expect(evidence.keep(path.join(folder, 'absent'))).rejects.toThrow('ENOENT');
    expect(await evidence.list()).toEqual([]);
    expect(leftovers()).toEqual([]);
  });

  it.each<[string, (source: string) => void]>([
    ['grows', (source) => fs.appendFileSync(source, 'one more row\n')],
    ['is written over', (source) => fs.writeFileSync(source, Buffer.alloc(3_000_000, 8))],
    ['is cut', (source) => fs.truncateSync(source, 5)],
  ])('are not taken from a source that %s while it is copied', async (_, change) => {
    const source = put('log.csv', Buffer.alloc(3_000_000, 7));
    // The clock of a file system may be as coarse as the time that this test takes.
    fs.utimesSync(source, 1e9, 1e9);
    changeWhileRead(source, change);
    await expect(evidence.receive(source, { name: 'logs/log.csv' })).rejects.toMatchObject({
      code: 'BAD_INPUT',
      problems: [{ code: 'file-changed', file: 'logs/log.csv' }],
    });
    expect(await evidence.list()).toEqual([]);
    expect(leftovers()).toEqual([]);
  });

  it('are read from the copy before they are kept, and a copy that was left behind is cleared away', async () => {
    const received = await evidence.receive(put('log.csv', 'row 1\n'));
    fs.writeFileSync(path.join(folder, 'log.csv'), 'row 2\n');
    expect(fs.readFileSync(received.path, 'utf8')).toBe('row 1\n');
    expect(await evidence.list()).toEqual([]);
    await evidence.keepAll([received]);
    expect(fs.readFileSync(await evidence.pathOf(received.sha256), 'utf8')).toBe('row 1\n');
    expect((await evidence.receive(put('again.csv', 'row 1\n'))).path).toBe(await evidence.pathOf(received.sha256));
    expect(leftovers()).toEqual([]);
    // The same bytes under two names, one of them personal: they lie in one place, from which a redaction takes them.
    const bytes = Buffer.from('the same scan, named twice');
    const twice = [await evidence.receive(bytes), await evidence.receive(bytes, { personalData: true })];
    await evidence.keepAll(twice);
    for (const one of twice) one.drop();
    expect((await evidence.list()).filter((name) => name === twice[0]!.sha256)).toHaveLength(1);
    const left = await evidence.receive(put('other.csv', 'x'));
    fs.utimesSync(left.path, 1e9, 1e9);
    EvidenceFiles.inFolder(path.join(folder, 'evidence'));
    expect(leftovers()).toEqual([]);
  });

  it('show when a byte was changed, the file was cut, or it is gone', async () => {
    const { sha256 } = await evidence.keep(put('a.csv', 'value 1'));
    const kept = await evidence.pathOf(sha256);
    fs.chmodSync(kept, 0o644);
    for (const content of ['value 2', 'valu']) {
      fs.writeFileSync(kept, content);
      await expect(evidence.verify(sha256)).rejects.toMatchObject({ code: 'ALTERED', facts: { sha256 } });
    }
    await expect(evidence.keep(put('again.csv', 'value 1'))).rejects.toMatchObject({ code: 'ALTERED' });
    fs.rmSync(kept);
    await expect(evidence.verify(sha256)).rejects.toThrow('is missing');
    await expect(evidence.pathOf(sha256)).rejects.toThrow('there is no evidence');
  });
});
