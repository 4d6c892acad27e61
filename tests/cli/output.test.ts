import fs from 'node:fs';
import path from 'node:path';
import { vi } from 'vitest';
import { BadInputError } from '../../src/base/errors.js';
import { report } from '../../src/cli/output.js';
import { temporaryFolder } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';

const problem = { code: 'x', field: 'length', expected: 'a number', remedy: 'write one' };

function said(error: unknown): string {
  const write = vi.spyOn(process.stderr, 'write').mockReturnValue(true);
  try {
    expect(report(error, false)).toBe(2);
    return write.mock.calls.map(([text]) => String(text)).join('');
  } finally {
    write.mockRestore();
  }
}

describe('bad input', () => {
  it('is counted, and says what was stored only where something might have been', () => {
    expect(said(new BadInputError([problem]))).toBe('1 problem.\n  length: expected a number; write one\n');
    expect(said(new BadInputError([problem, problem], []))).toMatch(/^Nothing was stored: 2 problems\.\n/);
    expect(said(new BadInputError([problem], ['the documents of the site', 'lot L-1']))).toMatch(
      /^Stored: the documents of the site, lot L-1\. Nothing else was: 1 problem\.\n/,
    );
  });

  it('of a folder that is taken in says that nothing was stored', async () => {
    const folder = temporaryFolder('output');
    fs.mkdirSync(path.join(folder, 'in'));
    fs.writeFileSync(path.join(folder, 'in', 'family.yaml'), 'kind: family\n');
    const { code, text } = await runCommand(path.join(folder, 'data'), ['intake', path.join(folder, 'in')]);
    expect([code, text]).toEqual([2, expect.stringMatching(/^Nothing was stored: \d+ problems?\./)]);
  });
});
