import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { CapabilityStatement } from '../../src/assessment/family/statement.js';
import { readPdf } from '../../src/pdf/reading/read-pdf.js';
import { pinMoves } from '../../src/qualification/pins/pin-lot.js';
import { type DemoResult, runDemo, writeAct } from '../../src/qualification/run-demo.js';
import { acts, EARLIER_LOTS } from '../../src/qualification/scenario.js';
import { STOCK_ACTS } from '../../src/qualification/stock/stock-lot.js';
import { STORY_MOVES } from '../../src/qualification/stories/acts.js';
import { PLANTED, STRIP_ACTS } from '../../src/qualification/strips/strip-lots.js';
import { WINDOW_MOVES } from '../../src/qualification/windows/window-lot.js';
import { ATTACHED, type Enclosure } from '../../src/records/enclosure.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { Carried } from '../support/by-note/carried.js';
import { disagreements } from '../support/by-note/compare.js';
import { temporaryFolder } from '../support/cell.js';
import { playedDemo } from '../support/played-demo.js';
import { openServices, type Services } from '../support/services.js';
import { withTool } from '../support/tools.js';
import { wordBoxes } from '../support/word-boxes.js';

let folder: string;
let said: readonly string[];
let result: DemoResult;
let services: Services;

beforeAll(async () => {
  ({ result, said } = await playedDemo());
  ({ folder } = result);
  services = await openServices(folder);
});
afterAll(() => services.store.close());

const unitsOf = (lot: string) => result.lots.find((item) => item.lot === lot)!.units;
const verdicts = (lot: string) => unitsOf(lot).map((unit) => unit.verdict);
const reasons = (lot: string) => unitsOf(lot).map((unit) => unit.why.map((why) => why.says));

withTool('pdftotext', 'the pages of the records', () => {
  it('are at most 24 for each lot, 25 where it was coated, sterilised and changed, and characteristics carry risk controls; the first is whole, and none has a few lines alone', () => {
    const records = path.join(folder, 'records');
    const files = fs.readdirSync(records);
    expect(files.length).toBeGreaterThan(3);
    for (const file of files) {
      const xml = execFileSync('pdftotext', ['-bbox', path.join(records, file), '-'], {
        encoding: 'utf8',
        maxBuffer: 1 << 27,
      });
      const lines = new Map<number, Set<number>>();
      for (const { page, top, bottom } of wordBoxes(xml)) {
        // Between what every page has at its head and foot.
        if (top > 55 && bottom < 796) lines.set(page, (lines.get(page) ?? new Set()).add(Math.round(top)));
      }
      const first = execFileSync('pdftotext', ['-l', '1', path.join(records, file), '-'], { encoding: 'utf8' });
      expect([file, /How to check it[\s\S]*verify FILE/.test(first)]).toEqual([file, true]);
      expect([file, lines.size <= (file.startsWith('LR-C-') ? 25 : 24)]).toEqual([file, true]);
      for (const [page, found] of lines) expect([file, page, found.size > 2]).toEqual([file, page, true]);
    }
  });

  it('say of a lot that was frozen again after its signatures which state of it was signed', () => {
    const file = path.join(folder, 'records', 'LR-L-2026-008-r1.pdf');
    const text = execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8', maxBuffer: 1 << 27 });
    const [shown] = /[0-9a-f]{64}/.exec(/Content \(lot file\).*/.exec(text)![0])!;
    const signed = [
      ...text
        .split('\f')[0]!
        .replace(/\s+/g, ' ')
        .matchAll(/on an earlier state of the lot file, ([0-9a-f]{12})/g),
    ];
    expect(signed).toHaveLength(2);
    for (const [, digest] of signed) expect(shown.startsWith(digest!)).toBe(false);
  });
});

it('cites in the records of later lots what was stated of the family, and reviewed, before they were built', async () => {
  const file = (lot: string) => path.join(folder, 'records', `LR-${lot}-r1.pdf`);
  const enclosureOf = async (lot: string) => {
    const { attachments } = await readPdf(fs.readFileSync(file(lot)));
    return JSON.parse(Buffer.from(attachments.get(ATTACHED.enclosure)!).toString('utf8')) as Enclosure;
  };
  const { capabilityStatements } = services.store.read;
  for (const lot of ['L-2026-013', 'L-2026-014', 'L-2026-015']) {
    const cited = (await enclosureOf(lot)).statedBefore ?? [];
    expect(cited.map(({ characteristic }) => characteristic)).toEqual(['rm', 'rate', 'stress', 'thickness', 'sa']);
    for (const { characteristic, digest, index, review } of cited) {
      expect(digest).toBe((await capabilityStatements.latest('BRIDGE-PLATE', characteristic))!.digest);
      expect([index.says, index.builds, review.by]).toEqual(['able', 12, 'TO']);
    }
  }
  expect((await enclosureOf('L-2026-008')).statedBefore).toBeUndefined();
});

it('closes a lot of which every implant conforms', () => {
  expect(reasons('L-2026-013')).toEqual([[], []]);
  expect(verdicts('L-2026-013')).toEqual(['conforms', 'conforms']);
});

it('fails one of three implants, for the oxygen in its own zone and for the coupon that stands for it alone', () => {
  expect(verdicts('L-2026-014')).toEqual(['conforms', 'does not conform', 'conforms']);
  const [, why] = reasons('L-2026-014');
  expect(why).toContainEqual(
    expect.stringMatching(/excursion of oxygen to 13\d.*reject level 100.*zone P2-span, layer 12, during peen/),
  );
  expect(why).toContainEqual(expect.stringMatching(/Tensile strength of W214-2\/T1, replicate 1: 208\.4 MPa, misses/));
});

it('leaves a lot undecided whose balance was overdue on the day of the test and found off the day after', () => {
  expect(verdicts('L-2026-015')).toEqual(['cannot be decided', 'cannot be decided']);
  for (const why of reasons('L-2026-015')) {
    expect(why).toHaveLength(1);
    expect(why[0]).toMatch(
      /Balance, 0\.1 mg \(BAL-2\), used on 2026-11-20 10:15 UTC, was found out of tolerance by calibration CAL-BAL-2-2/,
    );
  }
});

it('notes the alert of the conforming lot without holding it against it', async () => {
  const { facts } = (await services.current.of('L-2026-013'))!;
  const findings = [...facts.logParts.values()].flatMap((part) => part.findings);
  expect(findings.map((finding) => finding.level)).toContain('alert');
  expect(new Set(findings.map((finding) => finding.level))).toEqual(new Set(['alert']));
});

it('reads a log of more than 200 000 rows', async () => {
  const { facts } = (await services.current.of('L-2026-014'))!;
  expect(facts.dossier.logs[0]!.rows).toBeGreaterThan(200_000);
  expect(facts.dossier.logs[0]!.rejectedRows).toBe(0);
});

it.each([
  // Two values of the lot before miss their limit by far.
  ['rm', 'not normal'],
  ['porosity', 'bounds among them'],
  ['rate', 'normal'],
  ['stress', 'normal'],
  ['thickness', 'normal'],
  ['sa', 'normal'],
])(
  'has a trend of %s over at least twenty values of earlier lots, %s, with index and bound where normal, and limits of a plan',
  async (characteristic, shape) => {
    const { capability, lots } = await services.trend.trend(characteristic, 'BRIDGE-PLATE');
    expect(capability.n).toBeGreaterThanOrEqual(20);
    expect(lots.map(({ lot }) => lot)).toEqual(expect.arrayContaining([...EARLIER_LOTS]));
    const { ppk, ppkLower, bounds } = capability;
    if (shape === 'normal') {
      expect(ppk!).toBeGreaterThan(ppkLower!);
      expect(ppkLower).toBe(Math.min(bounds.independent!, bounds.builds!));
    } else {
      expect([ppk, ppkLower]).toEqual([null, null]);
      expect(capability.notes.map(({ code }) => code)).toContain(shape);
    }
    expect(capability.chart).toMatchObject({ plan: `CP-${characteristic.toUpperCase()}`, revision: 1 });
    expect(capability.chart!.baseline.points).toBeGreaterThanOrEqual(10);
  },
);

describe('what was planted in the strips', () => {
  const studied = async (characteristic: string) => (await services.trend.trend(characteristic, 'RIB-STRIP')).studied!;

  it.each([PLANTED.drift, PLANTED.step, PLANTED.gauge])(
    'is signalled at its lot and not before: $characteristic',
    async ({ characteristic, lot }) => {
      const { study } = await studied(characteristic);
      expect(new Set(study.listed.map((row) => row.lot)).size).toBe(25);
      expect(new Set(study.chart.points.map(({ machine }) => machine)).size).toBe(2);
      expect(study.chart.signals.map(({ lots }) => lots.at(-1)!).sort()[0]).toBe(lot);
    },
  );

  it('is on the list of what changed: the blend, and the new probe of the gauge', async () => {
    const { ranked } = (await studied(PLANTED.step.characteristic)).study.coincidences;
    expect(ranked[0]!.what).toBe('heat');
    expect(ranked[0]!.corrected).toBeLessThan(0.01);
    const gauge = (await studied(PLANTED.gauge.characteristic)).study.coincidences.ranked;
    expect(gauge.map(({ what }) => what)).toContain('calibration');
  });

  it('leaves the quiet characteristic quiet, and able', async () => {
    const { study } = await studied(PLANTED.quiet.characteristic);
    expect(study.chart.signals).toEqual([]);
    expect(study.index.says).toBe('able');
    expect(study.index.cpk).not.toBeNull();
  });
});

it('states of strips what is able, what is not, and what has too few builds, and nothing where no index is', async () => {
  const { capabilityStatements, signatures } = services.store.read;
  const said = async (characteristic: string) => {
    const stated = await capabilityStatements.latest('RIB-STRIP', characteristic);
    if (stated === null) return null;
    expect(await signatures.on([stated.digest])).toHaveLength(1);
    const { study } = CapabilityStatement.parse(JSON.parse(stated.body));
    return [study.index.says, study.chart.signals.filter(({ outcome }) => outcome !== null).length];
  };
  expect(await said('hv')).toEqual(['too few', 1]);
  expect(await said('width')).toEqual(['not able', 1]);
  expect(await said('dens')).toEqual(['able', 0]);
  expect(await said('flat')).toBeNull();
});

it('compares the family with the record of the lot before', async () => {
  const [record] = await services.store.read.records.ofLot('L-2026-015');
  const { familyBefore } = JSON.parse(record!.enclosure);
  expect(familyBefore.record).toEqual({ number: 'LR-L-2026-014', revision: 1 });
  expect(familyBefore.capability[0]).toMatchObject({ characteristic: 'rm', n: 52, ppk: expect.closeTo(2.61, 2) });
});

it('keeps the corrected value beside the right one', async () => {
  const { rows } = await services.store.read.results.ofLot('L-2026-008');
  const corrected = rows.filter((row) => row.status === 'corrected');
  expect(corrected).toHaveLength(1);
  expect(rows.filter((row) => row.reason !== '').map((row) => row.reason)).toEqual([
    expect.stringContaining('wrong line of the weighing sheet'),
  ]);
});

it('writes records that verify', async () => {
  for (const { record } of result.lots) {
    const report = await verifyRecord(record.file);
    expect(report.steps.filter((step) => step.outcome === 'does not hold')).toEqual([]);
    expect(report.answer).toBe('issuer not compared');
  }
});

it('is computed again from each record alone, by a script that was written from the note in it', async () => {
  const records = fs.readdirSync(path.join(folder, 'records')).filter((name) => name.endsWith('.pdf'));
  expect(records).toHaveLength(7);
  for (const name of records) {
    const { attachments } = await readPdf(fs.readFileSync(path.join(folder, 'records', name)));
    expect([name, disagreements(new Carried(attachments))]).toEqual([name, []]);
  }
});

it('marks every ledger entry as demo, and the ledger holds', async () => {
  const entries = await services.store.read.ledger.page(0);
  expect(entries.length).toBeGreaterThan(100);
  for (const entry of entries) expect(JSON.parse(entry.body)).toMatchObject({ demo: true });
  expect(await services.store.verifyLedger()).toMatchObject({ ok: true, size: entries.length });
});

it('traces a heat forward to every implant that holds some of it, and an implant back to both heats', async () => {
  const forward = await services.tracer.trace('H7731', { forward: true });
  const made = forward.matches[0]!.forward!.filter((node) => node.kind === 'implant').map((node) => node.key);
  expect(made).toEqual(expect.arrayContaining(['BP-201-1', 'BP-214-2', 'BP-215-2']));
  const back = await services.tracer.trace('BP-214-2', { back: true });
  const heats = back.matches[0]!.back!.filter((node) => node.kind === 'heat').map((node) => node.key);
  expect(heats).toEqual(['SILBERBACH:H7731', 'SILBERBACH:H8012']);
});

it('takes the scenario in again, changes nothing, and finds a use for every file', async () => {
  const size = await services.store.read.ledger.size();
  const report = await services.intake.run(path.join(folder, 'scenario'), 'local:tester');
  expect(report.unusedFiles).toEqual([]);
  expect(await services.store.read.ledger.size()).toBe(size);
});

it('says for each lot what came out, what blocked it, and where the record is', () => {
  const text = said.join('\n');
  expect(text).toContain('Lot L-2026-014 (to close): 3 implants: 2 conform, 1 does not conform');
  for (const { record } of result.lots) expect(text).toContain(record.file);
});

it('writes the same bytes each time', async () => {
  const [one, two] = [temporaryFolder('acts'), temporaryFolder('acts')];
  for (const root of [one, two]) {
    for (const act of [...acts(), ...STRIP_ACTS, ...STOCK_ACTS]) writeAct(act, root);
    for (const move of [...STORY_MOVES, ...pinMoves(), ...WINDOW_MOVES]) {
      if (move.does === 'record') await move.record(temporaryFolder('recordings'));
      else if (move.does === 'bring in') writeAct({ ...move, files: () => move.files(() => '0'.repeat(64)) }, root);
    }
  }
  const list = (root: string) => fs.readdirSync(root, { recursive: true, encoding: 'utf8' }).sort();
  expect(list(one)).toEqual(list(two));
  for (const name of list(one).filter((item) => fs.statSync(path.join(one, item)).isFile())) {
    expect(fs.readFileSync(path.join(one, name)).equals(fs.readFileSync(path.join(two, name)))).toBe(true);
  }
});

describe('a folder that is there already', () => {
  const demo = (other: string) => runDemo({ folder: other, say: () => {} });

  it.each([
    ['holds real data', '{"format":1}', 'REFUSED'],
    ['cannot be read', '{"format":', 'CONFLICT'],
    ['holds nothing known', 'null', 'CONFLICT'],
  ])('is never replaced when its folder.json %s', async (_, content, code) => {
    const other = temporaryFolder('real');
    fs.writeFileSync(path.join(other, 'folder.json'), content);
    await expect(demo(other)).rejects.toMatchObject({ code });
    expect(fs.readFileSync(path.join(other, 'folder.json'), 'utf8')).toBe(content);
  });

  it('is never replaced when it has no folder.json', async () => {
    const other = temporaryFolder('other');
    fs.writeFileSync(path.join(other, 'thesis.txt'), 'years of work');
    await expect(demo(other)).rejects.toMatchObject({ code: 'REFUSED' });
    expect(fs.readdirSync(other)).toEqual(['thesis.txt']);
  });

  it('is not replaced while a service shows it', async () => {
    await services.store.becomeService();
    await expect(demo(folder)).rejects.toMatchObject({ code: 'BUSY' });
    expect(fs.existsSync(path.join(folder, 'lotwright.sqlite'))).toBe(true);
  });
});
