import path from 'node:path';
import { vi } from 'vitest';
import { createApplication } from '../../src/main.js';
import { temporaryFolder, writeCell } from '../support/cell.js';
import { cellWithManyLots, lotCode } from '../support/many-lots.js';
import { runCommand } from '../support/run-command.js';
import { askingAs } from '../support/service.js';
import type { SigningCell } from '../support/signing-cell.js';

/** More implants, coupons and cases than 998 in every run, which is where the database client ends one statement. */
const LOTS = process.env.LOTWRIGHT_TEST_LONG ? 3000 : 510;
const OPEN = 4;

let cell: SigningCell;

beforeAll(async () => {
  cell = await cellWithManyLots(LOTS, OPEN);
});
afterAll(() => cell.close());

/** What a command answers as one JSON object. */
async function answer(...words: string[]) {
  const { code, text } = await runCommand(cell.folder.path, ['--json', ...words]);
  return { code, ...(JSON.parse(text) as Record<string, unknown>) };
}

const last = lotCode(LOTS - 1);

it('answers status', async () => {
  const { code, lots } = (await answer('status')) as unknown as {
    code: number;
    lots: { lot: string; state: string; closed: boolean }[];
  };
  expect(code).toBe(0);
  expect(lots).toHaveLength(LOTS);
  expect(lots.filter(({ closed }) => !closed).map(({ lot }) => lot)).toHaveLength(OPEN);
  expect(lots.filter(({ state }) => state === 'released for distribution')).toHaveLength(LOTS - OPEN);
});

it('asks for no history of a family for any of the lots that are open', async () => {
  const { histories } = cell.services.store.read;
  const asked = (['heads', 'sums', 'ofLots', 'rows'] as const).map((name) => vi.spyOn(histories, name));
  const lines = await cell.services.overview.list();
  expect(lines.filter(({ closed }) => !closed)).toHaveLength(OPEN);
  for (const spy of asked) {
    expect(spy).not.toHaveBeenCalled();
    spy.mockRestore();
  }
});

it('answers status of one lot', async () => {
  const { lots } = (await answer('status', last)) as unknown as { lots: { lot: string }[] };
  expect(lots.map(({ lot }) => lot)).toEqual([last]);
});

it('answers waiting', async () => {
  const { code, waiting } = (await answer('waiting')) as unknown as {
    code: number;
    waiting: { lot: string | null; meaning: string }[];
  };
  expect(code).toBe(0);
  const open = Array.from({ length: OPEN }, (_, index) => lotCode(LOTS - 1 - index));
  expect([...new Set(waiting.map(({ lot }) => lot))].sort()).toEqual(open.sort());
});

it('assesses a lot against the history of all others', async () => {
  const { code, units } = (await answer('assess', last)) as unknown as {
    code: number;
    units: object[];
  };
  expect([0, 3, 4]).toContain(code);
  expect(units).toHaveLength(2);
  const { assessment } = (await cell.services.current.of(last))!;
  // Every earlier lot has four values of the coupons in one build.
  expect(assessment.capability.find(({ characteristic }) => characteristic === 'rm')).toMatchObject({
    builds: LOTS - 2,
    n: 4 * (LOTS - 2),
  });
});

it('answers trend', async () => {
  // The lot that closed last was assessed before the others were there: the trend is of the history as it stands.
  const { code, lots, capability } = (await answer('trend', 'rm', '--family', 'PLATE')) as unknown as {
    code: number;
    lots: object[];
    capability: { notesSay: string[] };
  };
  expect(code).toBe(0);
  expect(lots).toHaveLength(LOTS);
  // Words beside the codes, as the API answers them.
  expect(capability.notesSay.join(' ')).toMatch(
    /no index of a normal distribution is stated: look at the values themselves\./,
  );
});

it('traces a machine forward to every implant, and a releaser to every release', async () => {
  const forward = await cell.services.tracer.trace('M1', { forward: true });
  const reached = forward.matches[0]!.forward!;
  expect(reached.filter(({ kind }) => kind === 'implant')).toHaveLength(2 * LOTS);
  const { code, matches } = (await answer('trace', 'P-RE')) as unknown as {
    code: number;
    matches: { signed: { meaning: string }[] }[];
  };
  expect(code).toBe(0);
  expect(matches[0]!.signed.filter(({ meaning }) => meaning === 'released')).toHaveLength(LOTS - OPEN);
});

it('verifies the audit trail and checks everything', async () => {
  expect(await answer('ledger', 'verify')).toMatchObject({ code: 0, ok: true });
  expect(await answer('check')).toMatchObject({ code: 0, faults: [] });
});

it('checks documents against what is stored, writes a record that verifies, and answers for keys and people', async () => {
  const folder = temporaryFolder('among-many');
  expect(await answer('intake', '--check', path.join(cell.root, 'site'))).toMatchObject({ code: 0 });
  const file = path.join(folder, 'record.pdf');
  expect(await answer('record', last, '--out', file)).toMatchObject({ code: 0 });
  expect(await answer('verify', file)).toMatchObject({ code: 0 });
  expect(await answer('ledger', 'head')).toMatchObject({ code: 0 });
  expect(await answer('keys', 'list')).toMatchObject({ code: 0 });
  expect(await answer('people', 'list')).toMatchObject({ code: 0 });
  const { code, lots } = (await answer('retention')) as unknown as { code: number; lots: object[] };
  expect({ code, lots: lots.length }).toEqual({ code: 0, lots: LOTS });
});

it('is backed up and restored whole', async () => {
  const folder = temporaryFolder('backup-of-many');
  const file = path.join(folder, 'all.zip');
  expect(await answer('backup', file)).toMatchObject({ code: 0, damaged: [] });
  const restored = path.join(folder, 'restored');
  const { code, text } = await runCommand(restored, ['--json', 'restore', file]);
  expect({ code, answer: JSON.parse(text) as object }).toMatchObject({
    code: 0,
    answer: { integrity: { faults: [] } },
  });
});

it('turns over long lists, of which the second page goes on where the first one ended', async () => {
  const documents = Object.fromEntries(
    Array.from({ length: 52 }, (_, index) => [
      `site/seams/${index}.yaml`,
      {
        ...{
          kind: 'nonconformity',
          format: 1,
          nonconformity: `NC-${100 + index}`,
          says: `seam ${100 + index} (invented)`,
        },
        opened: { by: 'P-QE', at: '2031-03-05T10:00:00+01:00' },
        touches: [{ kind: 'implant', key: `${last}-I1` }],
      },
    ]),
  );
  await cell.services.intake.run(writeCell({ documents, sheets: {}, files: {} }), 'local:tester');
  const app = await createApplication(cell.services.store);
  try {
    await app.init();
    const ask = await askingAs(app, 'P-QE');
    const rowsOf = async (address: string) => {
      const { text } = await ask.get(address);
      const rows = [...text.matchAll(/<tr><t[dh][^>]*>(?:<a [^>]*>)?([^<]+)/g)].map(([, first]) => first!);
      return {
        rows: rows.filter((first) => /^(?:NC-|L-)/.test(first)),
        next: /href="([^"]*row=[^"]*)">Next/.exec(text)?.[1],
      };
    };
    for (const [address, all] of [
      ['/nonconformities', 52],
      ['/questions/lots', LOTS],
    ] as const) {
      const seen: string[] = [];
      for (let at: string | undefined = address; at !== undefined; ) {
        const { rows, next }: { rows: string[]; next?: string | undefined } = await rowsOf(at.replaceAll('&amp;', '&'));
        seen.push(...rows);
        at = next;
      }
      expect([address, seen.length, new Set(seen).size]).toEqual([address, all, all]);
    }
  } finally {
    await app.close();
  }
});

it('shows the first page, a lot, a trace and a trend', async () => {
  const app = await createApplication(cell.services.store);
  try {
    await app.init();
    const ask = await askingAs(app, 'P-QE');
    for (const page of [
      '/',
      '/lots',
      `/lots/${last}`,
      '/find?id=M1',
      '/find?id=P-RE',
      '/trend?family=PLATE&characteristic=rm',
    ]) {
      expect({ page, status: (await ask.get(page)).status }).toEqual({ page, status: 200 });
    }
  } finally {
    await app.close();
  }
});
