import fs from 'node:fs';
import path from 'node:path';
import { systemClock } from '../../src/base/clock.js';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { addLot, type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { servicesWith } from '../support/record-content.js';
import { openServices, type Services } from '../support/services.js';
import { MINUTE_MS } from '../support/test-clock.js';

const LOT = 'lots/L-1/lot.yaml';
const LOG = 'lots/L-1/logs/run.csv';
const TENSILE = 'lots/L-1/results/tensile.csv';

/** One for all that is refused: nothing of it is stored. */
let fresh: Services;
let services: Services;
beforeAll(async () => {
  fresh = await openServices(path.join(temporaryFolder('data'), 'data'));
});
beforeEach(() => {
  services = fresh;
});
afterAll(() => fresh.store.close());

async function problemsOf(folder: string): Promise<readonly Problem[]> {
  const before = await services.store.read.ledger.size();
  const error = await services.intake.run(folder, 'local:tester').then(
    () => undefined,
    (caught: unknown) => caught,
  );
  expect(error).toBeInstanceOf(BadInputError);
  expect(await services.store.read.ledger.size()).toBe(before);
  return (error as BadInputError).problems;
}

interface BadCase {
  readonly what: string;
  readonly spoil: (cell: Cell) => void;
  readonly expected: Partial<Problem>;
}

const CASES: BadCase[] = [
  {
    what: 'an unknown field',
    spoil: ({ documents }) => {
      documents['site/machine.yaml']!.colour = 'grey';
    },
    expected: { code: 'unknown-field', file: 'site/machine.yaml', field: 'colour', line: 26 },
  },
  {
    what: 'a patient field',
    spoil: ({ documents }) => {
      documents['site/cases/L-1-1.yaml']!.patientName = 'Somebody';
    },
    expected: { code: 'patient-field', file: 'site/cases/L-1-1.yaml', field: 'patientName' },
  },
  {
    what: 'a wrong type',
    spoil: ({ documents }) => {
      documents[LOT]!.builds[0].run = 'first';
    },
    expected: { code: 'field', file: LOT, field: 'builds[0].run', found: '"first"' },
  },
  {
    what: 'a format nobody knows',
    spoil: ({ documents }) => {
      documents['site/supplier.yaml']!.format = 7;
    },
    expected: {
      code: 'format',
      file: 'site/supplier.yaml',
      field: 'format',
      line: 2,
      found: 'format 7 of supplier',
      expected: 'format 1',
      remedy: expect.stringContaining('version of the program that it was written for'),
    },
  },
  {
    what: 'a missing field',
    spoil: ({ documents }) => {
      delete documents['site/recipe.yaml']!.zones[0].class;
    },
    expected: { code: 'missing-field', file: 'site/recipe.yaml', field: 'zones[0].class', found: 'nothing' },
  },
  {
    what: 'an unknown reference',
    spoil: ({ documents }) => {
      documents[LOT]!.builds[0].powder[0].state = 'PS-9';
    },
    expected: { code: 'unknown-reference', file: LOT, field: 'builds[0].powder[0].state', found: 'powder state PS-9' },
  },
  {
    what: 'an unknown revision of a known document',
    spoil: ({ documents }) => {
      documents[LOT]!.specification.revision = 4;
    },
    expected: { code: 'unknown-reference', file: LOT, field: 'specification' },
  },
  {
    what: 'a unit that no one knows',
    spoil: ({ documents }) => {
      documents['site/specification.yaml']!.characteristics[0].ucum = 'Mpa';
    },
    expected: { code: 'unit', file: 'site/specification.yaml', field: 'characteristics[0].ucum', found: 'Mpa' },
  },
  {
    what: 'a unit that cannot be converted',
    spoil: ({ sheets }) => {
      sheets[TENSILE]![0]!.ucum = 'N';
    },
    expected: { code: 'unit', field: 'ucum', line: 2, found: 'N' },
  },
  {
    what: 'a date without offset',
    spoil: ({ documents }) => {
      documents[LOT]!.builds[0].closedAt = '2031-03-03T08:00:00';
    },
    expected: { code: 'field', file: LOT, field: 'builds[0].closedAt' },
  },
  {
    what: 'a day that no calendar has',
    spoil: ({ documents }) => {
      documents['site/receipt.yaml']!.expiry = '2032-02-30';
    },
    expected: { code: 'field', file: 'site/receipt.yaml', field: 'expiry' },
  },
  {
    what: 'a path that leads outside',
    spoil: ({ documents }) => {
      documents[LOT]!.builds[0].log.file = '../../../etc/passwd';
    },
    expected: { code: 'field', file: LOT, field: 'builds[0].log.file' },
  },
  {
    what: 'a file that is not there',
    spoil: ({ documents }) => {
      documents[LOT]!.builds[0].log.file = 'logs/other.csv';
    },
    expected: { code: 'file-missing', file: LOT, field: 'builds[0].log.file' },
  },
  {
    what: 'a result sheet that is cut',
    spoil: (cell) => {
      delete cell.sheets[TENSILE];
      cell.files[TENSILE] = 'specimen,characteristic,replicate,value,ucum,measuredAt,instrument,analyst,met';
    },
    expected: { code: 'cut-file', file: TENSILE, line: 1 },
  },
  {
    what: 'a log that is cut after its header',
    spoil: (cell) => {
      cell.files['lots/L-1/logs/run.csv'] = 'timestamp,layer,zone,step,oxygen';
    },
    expected: { file: 'logs/run.csv' },
  },
  {
    what: 'a value with a decimal comma',
    spoil: ({ sheets }) => {
      sheets[TENSILE]![1]!.value = '231;5';
    },
    expected: { code: 'field', field: 'value', line: 3, found: '"231;5"' },
  },
  {
    what: 'the same specimen, characteristic and replicate twice',
    spoil: ({ sheets }) => {
      sheets[TENSILE]![1]!.replicate = '1';
    },
    expected: { code: 'duplicate-key', line: 3 },
  },
  {
    what: 'a specimen of another lot',
    spoil: ({ sheets }) => {
      sheets[TENSILE]![0]!.specimen = 'L-9-W1';
    },
    expected: { code: 'unknown-reference', field: 'specimen', found: 'L-9-W1' },
  },
  {
    what: 'limits the wrong way round',
    spoil: ({ documents }) => {
      documents['site/specification.yaml']!.characteristics[1].upper = '1.40';
    },
    expected: { code: 'contradiction', field: 'characteristics[1]' },
  },
  {
    what: 'levels that grow milder outwards',
    spoil: ({ documents }) => {
      documents['site/recipe.yaml']!.chamber.windows[0].above.reject = '30';
    },
    expected: { code: 'contradiction', field: 'chamber.windows[0].above' },
  },
  {
    what: 'a value that its analyst checked alone',
    spoil: ({ sheets }) => {
      sheets['lots/L-1/results/size.csv']![0]!.checkedBy = 'P-AN';
    },
    expected: { code: 'independence', field: 'checkedBy' },
  },
  {
    what: 'a serial in two places of one lot',
    spoil: ({ documents }) => {
      documents[LOT]!.implants[1].serial = 'L-1-I1';
    },
    expected: { code: 'contradiction', found: 'implant or coupon "L-1-I1" a second time' },
  },
  {
    what: 'the same key in two files',
    spoil: ({ documents }) => {
      documents['site/machine-copy.yaml'] = { ...documents['site/machine.yaml']! };
    },
    expected: { code: 'duplicate-key', field: 'machine' },
  },
  {
    what: 'a calibration that is dated tomorrow',
    spoil: ({ documents }) => {
      documents['site/instruments/gauge.yaml']!.calibrations[0].at = '2031-03-05T13:00:00+01:00';
    },
    expected: {
      code: 'not-yet',
      file: 'site/instruments/gauge.yaml',
      field: 'calibrations[0].at',
      found: '2031-03-05T13:00:00+01:00',
      line: 8,
    },
  },
  {
    what: 'a report of a day that has begun nowhere on earth',
    spoil: ({ documents }) => {
      documents['site/validation.yaml']!.performance.at = '2031-03-06';
    },
    expected: { code: 'not-yet', file: 'site/validation.yaml', field: 'performance.at' },
  },
  {
    what: 'a value that was measured next month',
    spoil: ({ sheets }) => {
      sheets[TENSILE]![0]!.measuredAt = '2031-04-04T09:00:00+01:00';
    },
    expected: { code: 'not-yet', file: TENSILE, field: 'measuredAt', line: 2 },
  },
  {
    what: 'a chamber that was opened next month',
    spoil: ({ documents }) => {
      documents[LOT]!.builds[0].openedAt = '2031-04-04T09:00:00+01:00';
    },
    expected: { code: 'not-yet', file: LOT, field: 'builds[0].openedAt' },
  },
  {
    what: 'a log with a row that is still to come',
    spoil: ({ files }) => {
      files[LOG] = files[LOG]!.replace(/2031-03-03(?=[^\n]*\n$)/, '2031-04-03');
    },
    expected: { code: 'not-yet', file: LOG, field: 'timestamp' },
  },
];

it.each(CASES)('refuses $what, says where, and stores nothing', async ({ spoil, expected }) => {
  const cell = makeCell();
  spoil(cell);
  const problems = await problemsOf(writeCell(cell));
  expect(problems).toContainEqual(expect.objectContaining(expected));
  for (const problem of problems) expect(problem.remedy.length).toBeGreaterThan(3);
});

it('refuses a build that two new lots of one folder claim, so that no log is told of two', async () => {
  const cell = makeCell();
  const other = JSON.parse(JSON.stringify(cell.documents[LOT]).replace(/L-1-(?=[A-Z])/g, 'L-2-'));
  other.lot = 'L-2';
  cell.documents['lots/L-2/lot.yaml'] = other;
  cell.files['lots/L-2/logs/run.csv'] = cell.files['lots/L-1/logs/run.csv']!;
  expect((await problemsOf(writeCell(cell))).filter(({ code }) => code === 'identity-in-use')).toEqual([
    expect.objectContaining({
      file: 'lots/L-2/lot.yaml',
      field: 'builds[0]',
      found: 'build M1-101, which belongs to lot L-1',
    }),
  ]);
});

it('lists problems of several files at once', async () => {
  const cell = makeCell();
  cell.documents['site/machine.yaml']!.colour = 'grey';
  cell.documents['site/supplier.yaml']!.colour = 'grey';
  expect((await problemsOf(writeCell(cell))).map((problem) => problem.file)).toEqual([
    'site/machine.yaml',
    'site/supplier.yaml',
  ]);
});

it('refuses a field that stands twice in a file', async () => {
  const folder = writeCell(makeCell());
  fs.appendFileSync(path.join(folder, 'site/machine.yaml'), 'title: another\n');
  expect(await problemsOf(folder)).toContainEqual(
    expect.objectContaining({ code: 'duplicate-key', file: 'site/machine.yaml', line: 26 }),
  );
});

it('refuses a link, wherever it leads', async () => {
  const folder = writeCell(makeCell());
  fs.symlinkSync('/etc/hostname', path.join(folder, 'lots/L-1/results/more.csv'));
  expect(await problemsOf(folder)).toContainEqual(
    expect.objectContaining({ code: 'link', file: 'lots/L-1/results/more.csv' }),
  );
});

it('refuses what is too long to be read whole, and reads none of it', async () => {
  const folder = writeCell(makeCell());
  for (const [name, bytes] of [
    ['site/log.yaml', MOST.documentBytes + 1],
    ['lots/L-1/results/log.csv', MOST.sheetBytes + 1],
  ] as const) {
    fs.writeFileSync(path.join(folder, name), '');
    fs.truncateSync(path.join(folder, name), bytes);
  }
  expect(await problemsOf(folder)).toEqual([
    expect.objectContaining({ code: 'too-long', file: 'lots/L-1/results/log.csv' }),
    expect.objectContaining({ code: 'too-long', file: 'site/log.yaml' }),
  ]);
});

describe('a time ahead', () => {
  const codesWith = async (cell: Cell) => {
    const checked = services.intake.run(writeCell(cell), 'local:tester', { check: true });
    return checked.then(
      () => [],
      (error: BadInputError) => error.problems.map(({ code }) => code),
    );
  };

  it.each([
    { minutes: 4, codes: [] },
    { minutes: 60, codes: ['not-yet'] },
  ])('by $minutes minutes gives $codes: clocks of others may run ahead a little', async ({ minutes, codes }) => {
    const cell = makeCell();
    const calibration = cell.documents['site/instruments/gauge.yaml']!.calibrations[0];
    calibration.at = new Date(systemClock.now().getTime() + minutes * MINUTE_MS).toISOString();
    expect(await codesWith(cell)).toEqual(codes);
  });

  it('is none on a day that has begun somewhere', async () => {
    const cell = makeCell();
    cell.documents['site/validation.yaml']!.performance.at = '2031-03-05';
    expect(await codesWith(cell)).toEqual([]);
  });

  it('may be that of a build that is planned', async () => {
    const cell = makeCell();
    const [build] = cell.documents[LOT]!.builds;
    Object.assign(build, { state: 'planned', closedAt: '2031-05-01T08:00:00Z', openedAt: '2031-05-01T18:00:00Z' });
    expect(await codesWith(cell)).not.toContain('not-yet');
  });
});

it('checks without storing', async () => {
  const before = await services.store.read.ledger.size();
  const report = await services.intake.run(writeCell(makeCell()), 'local:tester', { check: true });
  expect(report).toMatchObject({ stored: false, lots: ['L-1'] });
  expect(await services.store.read.ledger.size()).toBe(before);
});

describe('once a lot is recorded', () => {
  beforeEach(async () => {
    services = await servicesWith(makeCell());
  });
  afterEach(() => services.store.close());

  it('refuses a changed value without a reason, and takes it with one', async () => {
    const cell = makeCell();
    cell.sheets[TENSILE]![0]!.value = '240.0';
    expect(await problemsOf(writeCell(cell))).toContainEqual(
      expect.objectContaining({ code: 'change-without-reason', line: 2, field: 'reason' }),
    );
    cell.sheets[TENSILE]![0]!.reason = 'digits swapped when typed';
    const report = await services.intake.run(writeCell(cell), 'local:tester');
    expect(report.results).toEqual({ recorded: 1, corrections: 1 });
    const { rows } = await services.store.read.results.ofLot('L-1');
    const first = rows.filter(
      (row) => row.specimen === 'L-1-W1' && row.replicate === '1' && row.characteristic === 'rm',
    );
    expect(first.map((row) => [row.reportedValue, row.status])).toEqual([
      ['231.5', 'corrected'],
      ['240.0', 'current'],
    ]);
  });

  it('refuses other bytes of a log under a lot that stays the same, checked or stored, and keeps none of them', async () => {
    const cell = makeCell();
    const evidence = await services.store.evidence.list();
    cell.files['lots/L-1/logs/run.csv'] += '2031-02-01T09:00:00Z,9,M1-101-A,print,100\n';
    const folder = writeCell(cell);
    for (const check of [true, false]) {
      const error = await services.intake.run(folder, 'local:tester', { check }).catch((caught: unknown) => caught);
      const expected = { code: 'recorded-file', file: LOT, field: 'builds[0].log.file', line: expect.any(Number) };
      expect((error as BadInputError).problems).toEqual([expect.objectContaining(expected)]);
      const [problem] = (error as BadInputError).problems;
      const [now, before] = [problem!.found!, problem!.expected].map(
        (text) => /SHA-256 ([0-9a-f]{64})/.exec(text)![1]!,
      );
      expect(evidence).toContain(before);
      expect(evidence).not.toContain(now);
    }
    expect(await services.store.evidence.list()).toEqual(evidence);
  });

  it('finds nothing new in the same folder when the clock was set back, and refuses what is new in it', async () => {
    vi.spyOn(systemClock, 'now').mockReturnValue(new Date('2031-02-01T12:00:00Z'));
    try {
      const cell = makeCell();
      const report = await services.intake.run(writeCell(cell), 'local:tester');
      expect(report).toMatchObject({ documents: [], results: { recorded: 0, corrections: 0 }, logs: [] });
      cell.documents[LOT]!.steps = [{ step: 'inspect', at: '2031-03-03T18:00:00+01:00', by: 'P-OP' }];
      expect((await problemsOf(writeCell(cell))).map(({ code }) => code)).toEqual(['not-yet']);
    } finally {
      vi.restoreAllMocks();
    }
  });

  it('refuses a row that vanished', async () => {
    const cell = makeCell();
    cell.sheets[TENSILE]!.pop();
    expect(await problemsOf(writeCell(cell))).toContainEqual(expect.objectContaining({ code: 'vanished-row' }));
  });

  it('refuses other content under a known revision number', async () => {
    const cell = makeCell();
    cell.documents['site/specification.yaml']!.characteristics[0].lower = '200';
    expect(await problemsOf(writeCell(cell))).toContainEqual(
      expect.objectContaining({ code: 'revision-content', field: 'characteristics[0].lower' }),
    );
  });

  it('numbers a running entry anew when a field is added, and asks for a reason when one changes', async () => {
    const cell = makeCell();
    cell.documents['site/supplier.yaml']!.address = 'Invented Street 1';
    await services.intake.run(writeCell(cell), 'local:tester');
    expect((await services.store.read.entries.current('supplier', 'S1'))?.revision).toBe(2);
    cell.documents['site/supplier.yaml']!.address = 'Invented Street 2';
    expect(await problemsOf(writeCell(cell))).toContainEqual(
      expect.objectContaining({ code: 'change-without-reason', field: 'address', file: 'site/supplier.yaml' }),
    );
    cell.documents['site/supplier.yaml']!.reason = 'they moved';
    await services.intake.run(writeCell(cell), 'local:tester');
    const revisions = await services.store.read.entries.revisions('supplier', 'S1');
    expect(revisions.map((item) => [item.revision, item.reason])).toEqual([
      [1, null],
      [2, null],
      [3, 'they moved'],
    ]);
  });

  it('refuses a serial that belongs to another lot', async () => {
    const cell = makeCell();
    const other = structuredClone(cell.documents[LOT]!);
    other.lot = 'L-2';
    cell.documents['lots/L-2/lot.yaml'] = other;
    cell.files['lots/L-2/logs/run.csv'] = cell.files['lots/L-1/logs/run.csv']!;
    expect(await problemsOf(writeCell(cell))).toContainEqual(
      expect.objectContaining({ code: 'identity-in-use', file: 'lots/L-2/lot.yaml' }),
    );
  });

  it('refuses one log for two builds that come in together', async () => {
    const cell = makeCell();
    for (const run of [102, 103]) addLot(cell, `L-${run}`, run, '2031-03-03', { rm: 230, thickness: 1.5 });
    cell.files['lots/L-103/logs/run.csv'] = cell.files['lots/L-102/logs/run.csv']!;
    expect(await problemsOf(writeCell(cell))).toEqual([
      expect.objectContaining({
        ...{ code: 'log-of-another-build', file: 'lots/L-103/lot.yaml', field: 'builds[0].log.file' },
        found: 'the log of build M1-102, byte for byte',
      }),
    ]);
  });

  it('refuses the log of another build', async () => {
    const cell = makeCell();
    const text = JSON.stringify(cell.documents[LOT]!).replaceAll('L-1', 'L-2').replaceAll('M1-101', 'M1-102');
    cell.documents['lots/L-2/lot.yaml'] = JSON.parse(text);
    cell.files['lots/L-2/logs/run.csv'] = cell.files['lots/L-1/logs/run.csv']!;
    expect(await problemsOf(writeCell(cell))).toContainEqual(
      expect.objectContaining({ code: 'log-of-another-build', file: 'lots/L-2/lot.yaml' }),
    );
  });
});
