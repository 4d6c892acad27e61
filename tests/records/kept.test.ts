import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { verifyRecord } from '../../src/verify/verify-record.js';

/** One sealed record of each release, as `keep.mjs` wrote it down. */
interface Kept {
  readonly release: string;
  readonly file: string;
  readonly sha256: string;
  /** Fingerprint of the installation key. */
  readonly key: string;
  /** What the release that made it said of each implant. */
  readonly verdicts: Readonly<Record<string, string>>;
}

const FOLDER = path.resolve('tests/records');
const KEPT = JSON.parse(fs.readFileSync(path.join(FOLDER, 'kept.json'), 'utf8')) as Kept[];

describe('a record of every release', () => {
  it('is written down, and nothing else lies beside', () => {
    const files = fs.readdirSync(FOLDER).filter((name) => name.endsWith('.pdf'));
    expect(files.sort()).toEqual(KEPT.map(({ file }) => file).sort());
    expect(new Set(KEPT.map(({ release }) => release)).size).toBe(KEPT.length);
  });

  for (const { release, file, sha256, key, verdicts } of KEPT) {
    it(`of release ${release} is unaltered, bound to its key, and shows what was said then`, async () => {
      expect(sha256Hex(fs.readFileSync(path.join(FOLDER, file)))).toBe(sha256);
      const report = await verifyRecord(path.join(FOLDER, file), { key });
      expect(report.steps.filter((step) => step.outcome === 'does not hold')).toEqual([]);
      expect(['unaltered', 'assesses differently']).toContain(report.verdict);
      expect(Object.fromEntries(report.units.map(({ serial, verdict }) => [serial, verdict]))).toEqual(verdicts);
    });
  }
});
