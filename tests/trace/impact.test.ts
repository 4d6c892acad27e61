import fs from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import { parse } from 'yaml';
import { csvRecords } from '../../src/base/csv-records.js';
import { digestOfResults } from '../../src/dossier/impact-results.js';
import { resultKey } from '../../src/kinds/result.js';
import { createApplication } from '../../src/main.js';
import { openPdf } from '../../src/pdf/reading/open-pdf.js';
import { ANSWER_FILE, CarriedAnswer } from '../../src/trace/carried-answer.js';
import type { ImpactAnswer } from '../../src/trace/impact-answer.js';
import { impactCode, impactDocument } from '../../src/trace/impact-document.js';
import { intervalOf } from '../../src/trace/impact-interval.js';
import { Impacts } from '../../src/trace/impacts.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { temporaryFolder } from '../support/cell.js';
import { signIn } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';
import { until } from '../support/until.js';

/** One lot of two implants; rm of each coupon was measured with I-RIG on 2031-03-04. Its lower limit is 215 MPa. */
let cell: SigningCell;

beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
});
afterAll(() => cell.close());

const NOTHING = { from: undefined, to: undefined, bias: undefined, uncertainty: undefined, without: false };
const of = (asked: object) => cell.services.impacts.of({ id: 'I-RIG', ...NOTHING, ...asked });
const flips = (units: readonly { serial: string; flips: boolean }[]) =>
  units.filter((unit) => unit.flips).map(({ serial }) => serial);

it('names every result, unit and lot of an instrument, with margins, and flips nothing when nothing is altered', async () => {
  const rows = (await cell.services.store.read.results.ofLot('L-1')).rows.filter((row) => row.instrument === 'I-RIG');
  const same = { value: '0', ucum: 'MPa' };
  for (const asked of [{}, { bias: same }, { uncertainty: same }, { bias: same, uncertainty: same }]) {
    const answer = await of(asked);
    expect(answer.results.map(({ specimen }) => specimen).sort()).toEqual(rows.map(({ specimen }) => specimen).sort());
    expect(answer.lots).toEqual([{ lot: 'L-1', count: rows.length, sha256: digestOfResults(rows) }]);
    expect(answer.units.map(({ serial, place }) => [serial, place])).toEqual([
      ['L-1-I1', 'in stock'],
      ['L-1-I2', 'in process'],
    ]);
    expect(flips(answer.units)).toEqual([]);
    for (const { first, again, margin } of answer.results)
      expect([first, again, margin! > 0]).toEqual([first, first, true]);
  }
});

it('says which units flip when the values are corrected, less certain or left out, and leaves the lot as it is', async () => {
  const size = await cell.services.store.read.ledger.size();
  const answer = await of({ bias: { value: '0.02', ucum: 'GPa' } });
  expect(flips(answer.units)).toEqual(['L-1-I1', 'L-1-I2']);
  for (const { value, valueAgain, again, margin } of answer.results) {
    expect([Number(valueAgain), again]).toEqual([Number(value) - 20, 'does not conform']);
    expect(margin).toBeLessThan(0);
  }
  expect(answer.altered).toBe('each value less 0.02 GPa');
  const without = await of({ without: true });
  expect(without.units.map(({ again }) => again)).toEqual(['cannot be decided', 'cannot be decided']);
  expect(await cell.services.store.read.ledger.size()).toBe(size);
});

it('touches nothing that was measured outside the time', async () => {
  const answer = await of({ from: '2031-03-05T00:00:00Z', to: '2031-03-05T01:00:00Z', without: true });
  expect([answer.results, answer.units, answer.balance]).toEqual([[], [], null]);
});

it.each([
  ['a bias in another unit', { bias: { value: '1', ucum: 'mm' } }, 'a unit that converts to MPa'],
  ['a time the wrong way round', { from: '2031-03-05T00:00:00Z', to: '2031-03-04T00:00:00Z' }, 'swap them'],
  ['nothing of that name', { id: 'I-NONE' }, 'I-NONE'],
  ['nothing of that kind', { id: 'lot:I-RIG' }, 'lot:I-RIG'],
])('refuses %s', async (_, asked, message) => {
  await expect(of(asked)).rejects.toThrow(message);
});

it('is answered by a document that process and quality sign, which clears exactly what it names, and holds units', async () => {
  const { services, folder } = cell;
  const take = (...documents: object[]) =>
    services.intake.take(
      documents.map((document, index) => ({ file: `made-${index}.yaml`, document: { ...document } })),
      'local:tester',
    );
  folder.advanceTo('2031-06-02T12:00:00Z');
  const { body } = (await services.store.read.entries.current('instrument', 'I-RIG'))!;
  await take({ ...body, calibrations: [...body.calibrations, calibration('K-2', '2031-06-01', 'out of tolerance')] });
  const verdicts = async () => {
    const { assessment } = await services.assessor.assess('L-1', 'local:tester');
    const { outcome } = assessment.checks.find(({ code }) => code === 'calibration-valid')!;
    return [outcome, ...assessment.units.map(({ verdict }) => verdict)];
  };
  const OPEN = ['cannot be decided', 'cannot be decided', 'cannot be decided'];
  expect(await verdicts()).toEqual(OPEN);
  const asked = { value: '2', ucum: 'MPa' };
  const answer = await of({ bias: asked });
  expect(answer.proposed).toContain('K-2');
  const draft = impactDocument(answer, { code: 'IM-1', bias: asked });
  expect(draft.decisions).toEqual(['L-1-I1', 'L-1-I2'].map((implant) => ({ implant, as: 'no effect' })));
  await take(draft);
  expect(await verdicts()).toEqual(OPEN);
  await cell.decide('P-PE', ['impact:IM-1@1']);
  await expect(cell.decide('P-PE', ['impact:IM-1@1'])).rejects.toThrow();
  expect(await verdicts()).toEqual(OPEN);
  await cell.decide('P-QE', ['impact:IM-1@1']);
  expect(await verdicts()).toEqual(['passes', 'conforms', 'conforms']);
  const waiting = (await services.waiting.all()).filter(({ thing }) => thing.startsWith('impact:'));
  expect(waiting).toEqual([]);
  const held = [
    { implant: 'L-1-I1', as: 'recall' },
    { implant: 'L-1-I2', as: 'no effect' },
  ];
  await take({ ...draft, decisions: held, reason: 'looked at again (invented)' });
  expect((await of({})).units.map(({ place }) => place)).toEqual(['in stock, on hold', 'in process']);
});

describe('over the service', () => {
  let app: NestExpressApplication;
  let ask: (path: string) => request.Test;
  beforeAll(async () => {
    app = await createApplication(cell.services.store);
    const { cookie } = await signIn(app, 'P-QE');
    ask = (path) => request(app.getHttpServer()).get(path).set('Cookie', cookie);
  });
  afterAll(() => app.close());

  /** The body as bytes, whatever its type. */
  const whole = (asked: request.Test) =>
    asked.buffer(true).parse((response, done) => {
      const pieces: Buffer[] = [];
      response.on('data', (piece: Buffer) => pieces.push(piece));
      response.on('end', () => done(null, Buffer.concat(pieces)));
    });

  const QUERY = 'id=I-RIG&bias=2+MPa';

  it('gives the same as a page, as YAML to take in, as CSV and as JSON', async () => {
    const answer = (await ask(`/api/v1/impact/I-RIG?bias=2+MPa`)).body as ImpactAnswer;
    expect(answer.results.length).toBeGreaterThan(0);
    const yaml = await whole(ask(`/impact.yaml?${QUERY}`));
    expect(yaml.headers['content-disposition']).toContain('IM-I-RIG-');
    expect(parse((yaml.body as Buffer).toString())).toEqual(
      JSON.parse(
        JSON.stringify(impactDocument(answer, { code: impactCode(answer), bias: { value: '2', ucum: 'MPa' } })),
      ),
    );
    const csv = await ask(`/impact.csv?${QUERY}`);
    const rows = [...csvRecords(csv.text, 100_000)];
    expect(rows.length).toBe(1 + answer.units.length + answer.results.length);
    expect((await ask(`/impact?${QUERY}`)).text).toContain(`/impact.pdf?${QUERY.replace('&', '&amp;')}`);
  });

  it('gives a sealed file that verifies by itself and names every result', async () => {
    const { body } = await whole(ask(`/impact.pdf?${QUERY}`));
    const file = path.join(temporaryFolder('impact'), 'impact.pdf');
    fs.writeFileSync(file, body);
    const found = await verifyRecord(file, { key: cell.services.store.key.fingerprint });
    expect(found).toMatchObject({ answer: 'as issued', paper: { number: 'Impact of I-RIG' } });
    const { contents } = await openPdf(file);
    const { told, named } = CarriedAnswer.parse(
      JSON.parse(Buffer.from(contents.attachments.get(ANSWER_FILE)!).toString()),
    );
    expect(told).toMatchObject({ what: 'impact', report: { altered: 'each value less 2 MPa' } });
    if (told.what !== 'impact') throw new Error('another answer');
    const keys = new Set(told.report.results.map(resultKey));
    expect(
      named
        .filter(({ kind }) => kind === 'result')
        .map(({ key }) => key)
        .sort(),
    ).toEqual([...keys].sort());
  });

  it('leads to a page that tells how far it is when lots take their time, and from there to the answer', async () => {
    const impacts = app.get(Impacts);
    const answers = impacts.of.bind(impacts);
    let goOn = () => {};
    const held = new Promise<void>((resolve) => {
      goOn = resolve;
    });
    const slow = vi.spyOn(impacts, 'of').mockImplementation(async (asked, onProgress) => {
      onProgress!({ done: 1, total: 4 });
      await held;
      return answers(asked, onProgress);
    });
    try {
      const { status, headers } = await ask(`/impact?${QUERY}`);
      expect([status, headers.location]).toEqual([303, expect.stringMatching(/^\/jobs\//)]);
      expect((await ask(headers.location!)).text).toContain('25 %');
      goOn();
      const led = await until(async () => {
        const page = await ask(headers.location!);
        return page.status === 303 ? page.headers.location! : undefined;
      });
      expect(led).toContain(`/impact?${QUERY}&answer=`);
      expect((await ask(led)).text).toContain('Impact of instrument I-RIG');
      expect(slow).toHaveBeenCalledTimes(1);
      expect((await ask(`/impact?${QUERY}&answer=gone`)).text).toContain('Impact of instrument I-RIG');
    } finally {
      goOn();
      slow.mockRestore();
    }
  });

  it.each([
    ['bias=2', 'bias'],
    ['uncertainty=much', 'uncertainty'],
    ['uncertainty=-2+MPa', 'not below zero'],
    ['from=yesterday', 'from'],
  ])('names what is wrong with %s', async (query, field) => {
    const { status, body } = await ask(`/api/v1/impact/I-RIG?${query}`);
    expect([status, JSON.stringify(body)]).toEqual([400, expect.stringContaining(field)]);
  });
});

it('is the same in the worker of a service', async () => {
  const built = pathToFileURL(path.resolve('dist')).href;
  const { Store } = (await import(`${built}/store/store.js`)) as typeof import('../../src/store/store.js');
  const { Impacts: Built } = (await import(`${built}/trace/impacts.js`)) as typeof import('../../src/trace/impacts.js');
  const { DataFolder } = (await import(
    `${built}/store/data-folder.js`
  )) as typeof import('../../src/store/data-folder.js');
  const store = await Store.open(DataFolder.open(cell.folder.path));
  try {
    Object.defineProperty(store, 'isService', { value: true });
    const asked = { id: 'I-RIG', ...NOTHING, bias: { value: '0.02', ucum: 'GPa' } };
    expect(await new Built(store).of(asked)).toEqual(await cell.services.impacts.of(asked));
    await expect(new Built(store).of({ ...asked, id: 'I-NONE' })).rejects.toMatchObject({ code: 'NOT_FOUND' });
  } finally {
    await store.close();
  }
});

const calibration = (certificate: string, at: string, asFound: 'in tolerance' | 'out of tolerance') => ({
  ...{ certificate, at: `${at}T08:00:00Z`, due: '2033-01-01T08:00:00Z', asFound },
  ...{ asLeft: 'in tolerance' as const, traceableTo: 'invented' },
});

it('proposes the time from the last calibration that found it right to the one that found it off', () => {
  const all = [
    calibration('C', '2031-07-01', 'in tolerance'),
    calibration('B', '2031-06-01', 'out of tolerance'),
    calibration('A', '2031-01-01', 'in tolerance'),
  ];
  expect(intervalOf(all, '2031-08-01T00:00:00Z')).toMatchObject({
    ...{ from: '2031-01-01T08:00:00Z', to: '2031-06-01T08:00:00Z' },
    because: { code: 'found off', certificate: 'B', lastGood: 'A' },
  });
  expect(intervalOf(all.slice(2), '2031-08-01T00:00:00Z')).toMatchObject({
    ...{ from: '2031-01-01T08:00:00Z', to: '2031-08-01T00:00:00Z' },
    because: { code: 'not found off', lastGood: 'A' },
  });
});
