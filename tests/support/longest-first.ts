import fs from 'node:fs';
import path from 'node:path';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Suites that take longest, on a machine that has never run them: what they took before is known only afterwards. */
const LONGEST = [
  ...['browser/pages', 'verify/sealed', 'qualification/stories', 'lots/many-lots'],
  ...['verify/command', 'lots/family-history', 'records/record', 'qualification/demo', 'faults/disk'],
  ...['faults/kill-during-acts', 'faults/kill-during-scan', 'signing/release-rule', 'records/bad-input'],
  ...['formats/growth', 'records/one-case', 'assessment/checks', 'assessment/properties', 'qualification/self-check'],
].map((name) => path.resolve('tests', `${name}.test.ts`));

/** Begins the longest suites first, so that no core waits for one of them at the end of a run. */
export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const gone = LONGEST.filter((file) => !fs.existsSync(file));
    if (gone.length > 0) throw new Error(`tests/support/longest-first.ts names what is gone: ${gone.join(', ')}`);
    const place = ({ moduleId }: TestSpecification) => {
      const at = LONGEST.indexOf(path.resolve(moduleId));
      return at === -1 ? LONGEST.length : at;
    };
    return (await super.sort(files)).sort((a, b) => place(a) - place(b));
  }
}
