import fs from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const BUILT = path.resolve('dist', 'base');
const built = (name: string) => import(pathToFileURL(path.join(BUILT, name)).href);

it('says once compiled what the compiled rules come to, without reading them', async () => {
  const { ASSESSMENT_VERSION } = await built('assessment-version.js');
  const { assessingCode, versionOf } = await built('assessing-code.js');
  const code = assessingCode();
  expect(code.files.size).toBeGreaterThan(80);
  expect([...code.files.keys()].every((file: string) => file.endsWith('.js'))).toBe(true);
  expect(ASSESSMENT_VERSION).toBe(versionOf(code));
  expect(fs.readFileSync(path.join(BUILT, 'assessment-version.js'), 'utf8')).not.toMatch(/\bimport\b/);
});
