import fs from 'node:fs';
import { FindingDetail } from '../../src/dossier/finding-detail.js';
import { LogFinding } from '../../src/dossier/schema.js';

const CODES = FindingDetail.options.map((option) => option.shape.code.value);

it('docs/formats.md names every code that a log finding may carry', () => {
  const [list] = /one of (?:`[a-z ]+`,?\s+)+/.exec(fs.readFileSync('docs/formats.md', 'utf8').split('facts.what')[1]!)!;
  expect([...list.matchAll(/`([a-z ]+)`/g)].map(([, code]) => code)).toEqual(CODES);
});

const finding = {
  id: 'ab'.repeat(32),
  ...{ build: 'B-1', rule: 'unknown zone', level: 'action', channel: null, ucum: null },
  ...{ startedAt: null, endedAt: null, places: [], steps: [] },
};

it.each([
  { name: 'a sentence for what was found', facts: { what: 'none named for peen' } },
  { name: 'a code that nobody words', facts: { what: { code: 'weather', zone: 'A' } } },
  { name: 'a code with a name too many', facts: { what: { code: 'zone', zone: 'A', says: 'the zone is unknown' } } },
  { name: 'a code without its name', facts: { what: { code: 'zone' } } },
  { name: 'a fact of another name', facts: { says: 'the zone is unknown' } },
])('a part is refused whose finding has $name', ({ facts }) => {
  expect(LogFinding.safeParse({ ...finding, facts }).success).toBe(false);
  expect(LogFinding.safeParse({ ...finding, facts: { what: { code: 'zone', zone: 'A' } } }).success).toBe(true);
});
