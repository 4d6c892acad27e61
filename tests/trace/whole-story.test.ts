import fs from 'node:fs';
import type { TraceNode } from '../../src/trace/traced.js';
import { temporaryFolder } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';
import { SigningCell } from '../support/signing-cell.js';

/** Two lots of two implants each, the first released in part; BAL-2 is known to nobody but one sheet. */
let cell: SigningCell;

beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
});
afterAll(() => cell.close());

const traced = async (id: string, kind: string) => {
  const { matches } = await cell.services.tracer.trace(id);
  return matches.find(({ entry }) => entry.kind === kind)!;
};
const keysOf = (nodes: readonly TraceNode[] | null, kind: string): string[] =>
  nodes!.filter((node) => node.kind === kind).map((node) => node.key);

describe('an instrument', () => {
  it('leads by its results and coupons to the implants that they stand for, their verdicts and their cases', async () => {
    const { results } = cell.services.store.read;
    const rows = await results.current('L-1');
    const instrument = rows.find(({ specimen }) => specimen.includes('-W'))!.instrument;
    const { forward } = await traced(instrument, 'instrument');
    const specimens = [...new Set(rows.filter((row) => row.instrument === instrument).map((row) => row.specimen))];
    expect(keysOf(forward, 'coupon').sort()).toEqual(specimens.sort());
    expect(keysOf(forward, 'implant').sort()).toEqual(['L-1-I1', 'L-1-I2']);
    expect(keysOf(forward, 'case')).toHaveLength(2);
    const implants = forward!.filter(({ kind }) => kind === 'implant');
    for (const { verdict } of implants) expect(verdict).toBe('conforms');
  });
});

describe('an implant', () => {
  it('goes back to its coupon, results, instruments, analyst, and to whoever reviewed and released it', async () => {
    const { back } = await traced('L-1-I1', 'implant');
    expect(keysOf(back, 'coupon').length).toBeGreaterThan(0);
    expect(keysOf(back, 'result').length).toBeGreaterThan(0);
    expect(keysOf(back, 'instrument').length).toBeGreaterThan(0);
    expect(keysOf(back, 'person')).toEqual(expect.arrayContaining(['P-AN', 'P-OP', 'P-RE', 'P-QE']));
    expect(back).toContainEqual(
      expect.objectContaining({
        kind: 'act',
        name: 'released for distribution by P-RE, 2031-03-05',
        via: 'signed on L-1-I1',
      }),
    );
  });

  it('goes back to nothing that only another implant of the lot rests on', async () => {
    const { back } = await traced('L-1-I1', 'implant');
    expect(keysOf(back, 'implant')).toEqual([]);
    expect(keysOf(back, 'case')).toEqual([]);
    const others = back!.filter(({ kind, name }) => kind !== 'result-set' && name.includes('L-1-I2'));
    expect(others).toEqual([]);
  });

  it('is met on the way forward from everything that it goes back to', async () => {
    for (const serial of ['L-1-I1', 'L-1-I2']) {
      const { back } = await traced(serial, 'implant');
      for (const node of back!) {
        const { forward } = await traced(node.key, node.kind);
        expect([node.kind, node.key, keysOf(forward, 'implant').includes(serial)]).toEqual([node.kind, node.key, true]);
      }
    }
  });
});

describe('a person', () => {
  it('leads to every act that they signed, and to what it was on', async () => {
    const { forward, signed } = await traced('P-RE', 'person');
    expect(signed!.length).toBeGreaterThan(0);
    expect(keysOf(forward, 'act')).toEqual(expect.arrayContaining(signed!.map(({ digest }) => digest)));
    expect(keysOf(forward, 'implant')).toContain('L-1-I1');
    expect(keysOf(forward, 'implant')).not.toContain('L-1-I2');
  });

  it('goes back to whoever signed their trainings, and what they made does not', async () => {
    const { back } = await traced('P-OP', 'person');
    expect(keysOf(back, 'act').length).toBeGreaterThan(0);
    expect(keysOf(back, 'person')).toContain('P-RE');
    const made = await traced('M1-101', 'build');
    expect(keysOf(made.back, 'person')).toContain('P-OP');
    expect(keysOf(made.back, 'person')).not.toContain('P-RE');
  });
});

it('a case goes back to its implant and all that it was made of', async () => {
  const { forward } = await traced('L-1-I1', 'implant');
  const [code] = keysOf(forward, 'case');
  const { back } = await traced(code!, 'case');
  expect(keysOf(back, 'implant')).toEqual(['L-1-I1']);
  expect(keysOf(back, 'heat').length).toBeGreaterThan(0);
  expect(keysOf(back, 'machine').length).toBeGreaterThan(0);
});

it('says where every implant of an answer is, with a count that comes out even, as of a head', async () => {
  const { store, tracer } = cell.services;
  const { head, matches } = await tracer.trace('0417');
  const size = await store.read.ledger.size();
  expect(head).toEqual({ size, root: await store.read.ledger.root(size) });
  const heat = matches.find(({ entry }) => entry.kind === 'heat')!;
  expect(heat.balance).toBe('2 made = 1 in process + 1 in stock; unaccounted 0');
  expect(heat.units.map(({ serial, place, holder }) => [serial, place, holder])).toEqual([
    ['L-1-I1', 'in stock', 'the cell'],
    ['L-1-I2', 'in process', 'the cell'],
  ]);
  const [supplier] = (await tracer.trace('S1', { back: true })).matches;
  expect([supplier!.balance, supplier!.units]).toEqual([null, []]);
});

it('answers as of a moment what it answered then, and refuses a moment before or ahead of all', async () => {
  const { tracer } = cell.services;
  const moment = '2031-03-05T12:00:00Z';
  const withoutVerdicts = (value: unknown) =>
    JSON.parse(JSON.stringify(value, (name, inner: unknown) => (name === 'verdict' ? null : inner)));
  const asked = ['L-1-I2', '0417', 'P-RE'];
  const before = [];
  for (const id of asked) {
    const { narrowed: _, ...answer } = await tracer.trace(id);
    before.push(withoutVerdicts(answer));
  }
  cell.folder.advanceTo('2031-03-06T12:00:00Z');
  await cell.reject('L-1', ['L-1-I2'], 'scratched (invented)');
  for (const [place, id] of asked.entries()) {
    expect(withoutVerdicts(await tracer.trace(id))).not.toEqual(before[place]);
    const { narrowed, ...then } = await tracer.trace(id, { asOf: moment });
    expect(narrowed).toEqual({ direction: null, from: null, to: null, asOf: moment });
    expect(then).toEqual(before[place]);
  }
  await expect(tracer.trace('0417', { asOf: '2031-03-07T12:00:00Z' })).rejects.toMatchObject({ code: 'BAD_INPUT' });
  await expect(tracer.trace('0417', { asOf: '2001-01-01T00:00:00Z' })).rejects.toMatchObject({ code: 'BAD_INPUT' });
  await expect(tracer.trace('0417', { asOf: 'yesterday' })).rejects.toMatchObject({ code: 'BAD_INPUT' });
});

it('keeps to what was used in a time: the results that were measured then, and what they stand for', async () => {
  const { store, tracer } = cell.services;
  const rows = await store.read.results.current('L-1');
  const instrument = rows.find(({ specimen }) => specimen.includes('-W'))!.instrument;
  const times = rows.filter((row) => row.instrument === instrument).map(({ measuredAt }) => Date.parse(measuredAt));
  const last = Math.max(...times);
  const at = (ms: number) => new Date(ms).toISOString();
  const asked = async (interval: { from?: string; to?: string }) =>
    (await tracer.trace(instrument, { forward: true, ...interval })).matches[0]!;
  const whole = await asked({});
  expect(await asked({ from: '2031-01-01T00:00:00Z', to: '2031-12-31T00:00:00Z' })).toEqual(whole);
  const after = await asked({ from: at(last + 1) });
  expect([keysOf(after.forward, 'result'), after.units, after.balance]).toEqual([[], [], null]);
  const before = await asked({ to: at(last) });
  expect(keysOf(before.forward, 'result').length).toBeGreaterThan(0);
  await expect(asked({ from: at(last), to: at(last - 1) })).rejects.toMatchObject({ code: 'BAD_INPUT' });
});

describe('an answer that somebody kept', () => {
  const told = async (...words: string[]) => runCommand(cell.folder.path, ['trace', ...words]);

  it('is compared by its head with a later one: what moved, came in and got another revision', async () => {
    const folder = temporaryFolder('answers');
    const kept = `${folder}/then.pdf`;
    expect((await told('L-1-I1', '--pdf', kept)).code).toBe(0);
    const json = (await told('L-1-I1', '--format', 'json')).text;
    fs.writeFileSync(`${folder}/then.json`, json.slice(json.indexOf('{')));
    for (const [id, ...more] of [['L-1-I1', '--back'], ['M1']]) {
      const { text } = await told(id!, ...more, '--format', 'json');
      fs.writeFileSync(`${folder}/${id}.json`, text.slice(text.indexOf('{')));
    }
    expect((await told('L-1-I1', '--since', `${folder}/L-1-I1.json`)).text).toContain('Both say the same.');
    const same = await told('L-1-I1', '--since', `${folder}/then.json`);
    expect([same.code, same.text]).toEqual([0, expect.stringContaining('Both say the same.')]);
    cell.folder.advanceTo('2032-03-06T12:00:00Z');
    const { services } = cell;
    const { body } = (await services.store.read.entries.current('machine', 'M1'))!;
    const handover = {
      ...{ kind: 'handover', format: 1, handover: 'HO-9', implants: ['L-1-I1'], by: 'P-OP' },
      ...{ to: { institution: 'Invented Hospital', address: 'Street 2' }, at: '2032-03-06T10:00:00Z' },
    };
    const machine = { ...body, location: 'Room 2', reason: 'moved (invented)' };
    await services.intake.take(
      [handover, machine].map((document, index) => ({ file: `made-${index}.yaml`, document: { ...document } })),
      'local:tester',
    );
    for (const file of [kept, `${folder}/then.json`]) {
      const { code, text } = await told('L-1-I1', '--since', file);
      expect(code).toBe(0);
      expect(text).toMatch(/the audit trail only grew since, by \d+ entries/);
      expect(text).toMatch(/implant L-1-I1 .* in stock, the cell.* with the institution, Invented Hospital, Street 2/);
      expect(text).toMatch(/came from +machine M1 +1: .* 2: /);
      expect(text).toMatch(/went into +handover HO-9 +not in the earlier answer/);
      expect(text).not.toMatch(/recipe|heat/);
    }
    expect((await told('M1', '--since', `${folder}/M1.json`)).text).toMatch(/machine M1 +revision +1 +2/);
    const forged = JSON.parse(fs.readFileSync(`${folder}/then.json`, 'utf8'));
    forged.head.root = 'ab'.repeat(32);
    fs.writeFileSync(`${folder}/forged.json`, JSON.stringify(forged));
    const other = await told('L-1-I1', '--since', `${folder}/forged.json`);
    expect([other.code, other.text]).toEqual([6, expect.stringContaining('does not begin with that of the answer')]);
    fs.writeFileSync(`${folder}/none.json`, '{}');
    fs.writeFileSync(`${folder}/text.json`, 'no JSON');
    for (const file of [`${folder}/none.json`, `${folder}/text.json`, `${folder}/absent.json`, folder]) {
      const { code, text } = await told('L-1-I1', '--since', file);
      expect([code, text]).toEqual([2, expect.stringContaining(`--since: found ${file}, which`)]);
    }
    expect((await told('L-1-I2', '--since', kept)).text).toContain('which answers for L-1-I1');
  });
});
