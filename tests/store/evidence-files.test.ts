import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { EvidenceFiles } from '../../src/store/evidence-files.js';
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

beforeEach(() => {
  ({ folder, remove } = temporaryFolder());
  evidence = new EvidenceFiles(path.join(folder, 'evidence'));
});
afterEach(() => remove());

describe('evidence files', () => {
  it('are named by the SHA-256 of their bytes, whatever these are, and cannot be written', async () => {
    const bytes = Buffer.alloc(3_000_000, 7);
    const kept = await evidence.keep(put('big.bin', bytes));
    expect(kept).toEqual({ sha256: sha256Hex(bytes), bytes: bytes.length });
    expect(evidence.read(kept.sha256).equals(bytes)).toBe(true);
    expect(fs.statSync(evidence.pathOf(kept.sha256)).mode & 0o777).toBe(0o444);
    expect(leftovers()).toEqual([]);
    await evidence.verify(kept.sha256);
  });

  it('are kept once, however often and under whatever name they come', async () => {
    const first = await evidence.keep(put('a.csv', 'x'));
    expect(await evidence.keep(put('b.csv', 'x'))).toEqual(first);
    await Promise.all([evidence.keep(put('c.csv', 'y')), evidence.keep(put('d.csv', 'y'))]);
    expect(evidence.list()).toEqual([sha256Hex('x'), sha256Hex('y')].sort());
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
    expect(evidence.list()).toEqual([]);
    expect(leftovers()).toEqual([]);
  });

  it('show when a byte was changed, the file was cut, or it is gone', async () => {
    const { sha256 } = await evidence.keep(put('a.csv', 'value 1'));
    const kept = evidence.pathOf(sha256);
    fs.chmodSync(kept, 0o644);
    for (const content of ['value 2', 'valu']) {
      fs.writeFileSync(kept, content);
      await expect(evidence.verify(sha256)).rejects.toMatchObject({ code: 'ALTERED', facts: { sha256 } });
    }
    await expect(evidence.keep(put('again.csv', 'value 1'))).rejects.toMatchObject({ code: 'ALTERED' });
    fs.rmSync(kept);
    await expect(evidence.verify(sha256)).rejects.toThrow('is missing');
    expect(() => evidence.read(sha256)).toThrow('there is no evidence');
  });
});
