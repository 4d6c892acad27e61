import fs from 'node:fs';
import path from 'node:path';
import { checksFor } from '../../src/assessment/checks/catalogue.js';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { GAP_RULES } from '../../src/design-history/gaps/catalogue.js';
import { needsOf } from '../../src/kinds/route-needs.js';
import { CHECKLISTS, checklistFile, checklistText } from '../../src/report/phrases/checklists.js';
import { CLAUSES } from '../../src/report/phrases/design-clauses.js';

const folder = path.join(PROGRAM_ROOT, 'templates', 'starters');
const listOf = (law: string, route: string) =>
  checklistText(CHECKLISTS.find((one) => one.law === law && one.route === route)!);

describe.each(CHECKLISTS.map((of) => [`${of.law}, ${of.route}`, of] as const))('the checklist of %s', (_, of) => {
  const text = fs.readFileSync(path.join(folder, checklistFile(of)), 'utf8');

  it('is what the tables say that the program asks by', () => expect(text).toBe(checklistText(of)));

  it('names each need of the law, each rule on gaps and each release check, once', () => {
    for (const { source } of needsOf(of)!) expect(text).toContain(source);
    for (const { code } of [...GAP_RULES, ...checksFor([])])
      expect([code, text.split(`(\`${code}\`)`).length]).toEqual([code, 2]);
  });

  it('leads to documents that are there to fill in', () => {
    const links = [...text.matchAll(/\]\(([^)]+)\)/g)].map(([, file]) => file!);
    expect(links.length).toBeGreaterThan(15);
    for (const file of new Set(links)) expect([file, fs.existsSync(path.join(folder, file))]).toEqual([file, true]);
  });
});

it('asks nothing of another law, and of custom-made devices alone what is theirs', () => {
  const [eu, us] = [listOf('EU', 'custom-made'), listOf('US', 'custom-made')];
  expect(eu).not.toMatch(/## What the design history[\s\S]*?21 CFR[\s\S]*?## What else/);
  expect(us).not.toMatch(/Regulation \(EU\) 2017\/745 Annex (II|XIII) /);
  expect(eu).toContain('Annex XIII 2');
  expect(listOf('EU', 'market')).not.toContain('Annex XIII 2');
  // Whatever clause the file of a design refers to stands in one list at least.
  const all = CHECKLISTS.map(checklistText).join('\n');
  for (const { clause } of CLAUSES) expect(all).toContain(`- [ ] ${clause}: `);
});

it('leaves no checklist of a law or route that is gone', () => {
  const files = fs.readdirSync(folder).filter((name) => name.startsWith('checklist'));
  expect(files.sort()).toEqual(CHECKLISTS.map(checklistFile).sort());
});
