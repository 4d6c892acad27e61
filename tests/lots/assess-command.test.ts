import path from 'node:path';
import { parse } from 'yaml';
import { logFindingsOf } from '../../src/assessment/log-findings.js';
import { NonconformityStarts } from '../../src/lots/nonconformity-start.js';
import { logText, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';
import { openServices } from '../support/services.js';

const data = path.join(temporaryFolder('data'), 'data');

const lotwright = (...words: string[]) => runCommand(data, words);

beforeAll(async () => {
  const cell = makeCell();
  // Oxygen at reject level in one zone: known once the chamber is open, and not before.
  cell.files['lots/L-1/logs/run.csv'] = logText('2031-03-03', (_, zone, step, layer) =>
    zone === 'I2-span' && step === 'peen' && layer === 2 ? 120 : 8,
  );
  expect(await lotwright('intake', writeCell(cell))).toMatchObject({ code: 0 });
});

const json = async (...words: string[]) => {
  const { code, text } = await lotwright('--json', 'assess', 'L-1', ...words);
  return { code, answer: JSON.parse(text) };
};

it('answers for release by default: 3, since one unit does not conform, before 4', async () => {
  const { code, answer } = await json();
  expect(code).toBe(3);
  expect(answer).toMatchObject({ lot: 'L-1', for: 'release', releasable: [] });
  expect(Object.keys(answer).sort()).toEqual([
    'capability',
    'characteristics',
    'checks',
    'dossier',
    'for',
    'lot',
    'releasable',
    'units',
    'why',
  ]);
  // Words beside the codes, as the API answers them.
  expect(answer.characteristics[0]).toMatchObject({ plan: { says: expect.any(String), ruleSays: expect.any(String) } });
  expect(answer.capability[0]).toMatchObject({ notesSay: [expect.any(String), expect.any(String)] });
  expect(answer.why['L-1-I2'][0]).toMatchObject({ effect: 'does not conform', check: 'log-findings-decided' });
});

it('answers "may we build?" from what is known by then: 4, since nobody signed the documents', async () => {
  const { code, answer } = await json('--for', 'build');
  expect(code).toBe(4);
  expect(new Set(answer.checks.map((check: { moment: string }) => check.moment))).toEqual(new Set(['build']));
  expect(answer.units.map((unit: { verdict: string }) => unit.verdict)).toEqual([
    'cannot be decided',
    'cannot be decided',
  ]);
});

it('holds the failing unit back from sterilisation', async () => {
  const { code, answer } = await json('--for', 'sterilisation');
  expect([code, answer.units[1].verdict]).toEqual([3, 'does not conform']);
});

it('says in words what was asked and who can clear what', async () => {
  const { text } = await lotwright('assess', 'L-1', '--for', 'build');
  expect(text).toContain('May we build? Nothing holds back 0 of 2 implants: none.');
  expect(text).toMatch(
    /Recipe RC rev 2: approval by P-QE at .* is claimed by the file and not signed\.\n\s+Quality engineer: /,
  );
});

it('names what is spelt nearly so when there is no such lot', async () => {
  const { code, text } = await lotwright('assess', 'L-2');
  expect([code, text]).toEqual([7, 'there is no lot "L-2" in this data folder. Spelt nearly so: L-1 (lot)\n']);
  expect(JSON.parse((await lotwright('--json', 'assess', 'L-2')).text).error).toMatchObject({
    ...{ code: 'NOT_FOUND', what: 'lot', key: 'L-2' },
    near: [{ kind: 'lot', key: 'L-1' }],
  });
});

it('refuses a moment that there is not', async () => {
  await expect(lotwright('assess', 'L-1', '--for', 'shipping')).rejects.toMatchObject({
    message: expect.stringContaining('build, sterilisation, release'),
  });
});

it('says at intake how many rows of a log were not used, why, and which was the first, also when it only checks', async () => {
  const cell = makeCell();
  const log = 'lots/L-1/logs/run.csv';
  const lines = cell.files[log]!.split('\n');
  for (const [line, text] of [
    [10, 'rubbish'],
    [20, lines[19]!.replace(/,8$/, ',ERR')],
    [21, 'more'],
  ] as const) {
    lines[line - 1] = text;
  }
  // Another file under another name: the bytes of the recorded one stay.
  cell.files['lots/L-1/logs/again.csv'] = lines.join('\n');
  const lot = cell.documents['lots/L-1/lot.yaml']!;
  lot.builds[0].log.file = 'logs/again.csv';
  lot.reason = 'copied again from the recorder';
  const { code, text } = await lotwright('intake', writeCell(cell), '--check');
  expect(code).toBe(0);
  expect(text).toContain(
    '  log of M1-101: 118 rows, rejected 1 for number, 2 for number of fields; the first is line 10: 1 instead of 5: "rubbish", 2 findings\n',
  );
});

it('prints how to open a nonconformity beside each blocker, and begins one from it', async () => {
  const { text } = await lotwright('status', 'L-1');
  const digits = /lotwright nonconformity L-1 ([0-9a-f ]+) --person CODE/.exec(text)![1]!.split(' ').filter(Boolean);
  const begun = await lotwright('nonconformity', 'L-1', ...digits, '--person', 'P-QE');
  expect(begun.code).toBe(0);
  expect(parse(begun.text)).toMatchObject({
    kind: 'nonconformity',
    nonconformity: 'NC-L-1-1',
    opened: { by: 'P-QE' },
    findings: digits.map((id) => expect.stringMatching(new RegExp(`^${id}`))),
  });
  expect(parse(begun.text).touches.map(({ key }: { key: string }) => key)).toContain('L-1-I2');
  expect(await lotwright('nonconformity', 'L-1', '0'.repeat(12), '--person', 'P-QE')).toMatchObject({ code: 7 });
});

it('begins one from a log finding that no check asks about, too', async () => {
  const { store, current } = await openServices(data);
  try {
    const { facts } = (await current.of('L-1'))!;
    const { id } = logFindingsOf(facts).find(({ level }) => level === 'alert')!;
    const started = await new NonconformityStarts(store, current).of('L-1', [id.slice(0, 12)], 'P-OP');
    expect(started).toMatchObject({
      findings: [id],
      from: [{ kind: 'build', key: 'M1-101' }],
      touches: [{ kind: 'implant', key: 'L-1-I2' }],
    });
  } finally {
    await store.close();
  }
});
