import fs from 'node:fs';
import path from 'node:path';
import { findingWords } from '../../src/report/assessment-words.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices } from '../support/services.js';

/** What the check of the recipe says of a lot whose recipe came with this approval, and nobody has signed anything. */
async function recipeCheck(approval: Record<string, string> | undefined, original?: string) {
  const cell = makeCell();
  const recipe = cell.documents['site/recipe.yaml']!;
  if (approval) recipe.approval = approval;
  else delete recipe.approval;
  const root = writeCell(cell);
  if (original !== undefined) fs.writeFileSync(path.join(root, 'site', 'approval.pdf'), original);
  const services = await openServices(path.join(temporaryFolder('approvals'), 'data'));
  try {
    await services.intake.run(root, 'local:tester');
    const { assessment, facts } = await services.assessor.assess('L-1', 'local:tester');
    const check = assessment.checks.find(({ code }) => code === 'recipe-in-force')!;
    return { check, verdicts: assessment.units.map(({ verdict }) => verdict), facts, services };
  } finally {
    await services.store.close();
  }
}

const CLAIM = { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' };

it('takes a bare claim in a file for no approval: cannot be decided until somebody signs', async () => {
  const { check, verdicts } = await recipeCheck(CLAIM);
  expect(check.findings.map((finding) => ({ ...finding, ...findingWords(check.code, finding) }))).toEqual([
    expect.objectContaining({
      rule: 'claimed, not signed',
      effect: 'cannot be decided',
      says: expect.stringMatching(/approval by P-QE at .* is claimed by the file and not signed/),
      clearedBy: expect.stringContaining('take it in again with the signed original as evidence'),
    }),
  ]);
  expect(verdicts).toEqual(['cannot be decided', 'cannot be decided']);
});

it('takes an approval that was given elsewhere when the signed original comes with it, and prints that it is one', async () => {
  const { check } = await recipeCheck({ ...CLAIM, original: 'approval.pdf' }, 'an invented scan of a signature');
  expect(check.findings).toEqual([]);
  expect(check.claims).toEqual([expect.objectContaining({ how: 'approved elsewhere', by: 'P-QE' })]);
});

it('refuses an approval whose original did not come with it, and stores nothing', async () => {
  await expect(recipeCheck({ ...CLAIM, original: 'approval.pdf' })).rejects.toMatchObject({
    problems: [expect.objectContaining({ file: expect.stringContaining('recipe.yaml') })],
  });
});

it('misses an approval that nobody claims', async () => {
  const { check } = await recipeCheck(undefined);
  expect(check.findings).toEqual([expect.objectContaining({ rule: 'no approval', effect: 'cannot be decided' })]);
});
