import { execFileSync } from 'node:child_process';
import { countsOf } from '../../src/assessment/counts.js';
import { lotSummaryView } from '../../src/report/lot-summary-view.js';
import { addLot } from '../support/cell.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';
import { withTools } from '../support/tools.js';

const units = (lot: string) => [`${lot}-I1`, `${lot}-I2`];

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    for (const [lot, run] of Object.entries({ 'L-2': 102, 'L-3': 103, 'L-4': 104, 'L-5': 105 })) {
      addLot(what, lot, run, '2031-03-03', { rm: 230, thickness: 1.5 });
    }
    const lot = (code: string) => what.documents[`lots/${code}/lot.yaml`]!;
    // One of two was kept as a sample.
    lot('L-2').fates = [{ part: 'L-2-I2', as: 'retained', at: '2031-03-05T09:00:00+01:00', by: 'P-QE' }];
    // A spare for the case of the first implant, and a third one in another lot.
    lot('L-3').implants[1].case = 'K-103-1';
    lot('L-4').implants[0].case = 'K-103-1';
    lot('L-5').implants[1].case = 'K-105-1';
  });
});
afterAll(() => cell.close());

const partsOf = async (lot: string) => {
  const assessed = (await cell.services.current.of(lot))!;
  const { counts } = lotSummaryView(assessed, (await cell.services.overview.of(lot)).units);
  return Object.fromEntries(counts.implants!.parts.map(({ title, count }) => [title, count]));
};

const textOf = async (lot: string) => {
  const { file } = await cell.services.issuer.issue(lot, 'local:tester');
  return execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }).replace(/\s+/g, ' ');
};

describe('what became of the implants follows from what people signed', () => {
  it('is all in progress before anybody decided, and the check speaks of no decision', async () => {
    await cell.review('L-1');
    expect(await partsOf('L-1')).toMatchObject({ 'released for distribution': 0, rejected: 0, 'in progress': 2 });
    const { assessment } = (await cell.services.current.of('L-1'))!;
    const { basis } = assessment.checks.find(({ code }) => code === 'counts-balance')!;
    expect(basis).toEqual({ made: '2', destructivelyTested: '0', retained: '0', scrapped: '0', toDecide: '2' });
  });

  it('is released 2, in progress 0 on the page once both are released', async () => {
    await cell.release('L-1', units('L-1'));
    expect(await partsOf('L-1')).toMatchObject({ 'released for distribution': 2, rejected: 0, 'in progress': 0 });
  });

  withTools(['pdftotext'], 'the sealed record', () => {
    it('says the same, and nothing else anywhere', async () => {
      const text = await textOf('L-1');
      expect(text).toContain(
        'Of these released for distribution 2 L-1-I1, L-1-I2 Of these none 0 released for sterilisation, rejected, in progress,',
      );
      expect(text).not.toMatch(/none 0 [^.]*released for distribution|Of these in progress/);
    });

    it('counts a revoked release as in progress again', async () => {
      const { stateActs } = cell.services;
      await stateActs.revokeRelease(await cell.prove('P-QE'), 'L-1', ['L-1-I1'], 'the label names the other side');
      expect(await textOf('L-1')).toContain(
        'Of these released for distribution 1 L-1-I2 Of these in progress 1 L-1-I1 Of these none 0 released for sterilisation, rejected,',
      );
      expect(await partsOf('L-1')).toMatchObject({ 'released for distribution': 1, 'in progress': 1 });
    });
  });

  it('counts every implant once, and shows it when one was released that is said to be gone', () => {
    const [first, second, third] = ['I1', 'I2', 'I3'];
    const count = (as: string, distribution: readonly string[], rejected: readonly string[]) => {
      const released = { sterilisation: [], distribution };
      const body = {
        builds: [{ build: 'M1-1' }, { build: 'M1-2', state: 'planned' }],
        implants: [first, second, third].map((serial) => ({ serial, build: serial === third ? 'M1-2' : 'M1-1' })),
        fates: [{ part: second, as }],
      };
      return countsOf({ lot: { body } } as never, { released, rejected } as never).implants;
    };
    const numbers = (line: ReturnType<typeof count>) =>
      Object.fromEntries(line.parts.map(({ fate, count: n }) => [fate, n]));
    const kept = count('retained', [first!], []);
    expect(kept).toMatchObject({ total: 2, sum: 2 });
    expect(numbers(kept)).toMatchObject({ 'released for distribution': 1, rejected: 0, 'in progress': 0, retained: 1 });
    const scrapped = count('scrapped', [], [second!]);
    expect(scrapped).toMatchObject({ total: 2, sum: 2 });
    expect(numbers(scrapped)).toMatchObject({ rejected: 0, 'in progress': 1, scrapped: 1 });
    expect(count('tested', [first!, second!], [])).toMatchObject({ total: 2, sum: 3 });
  });

  it('refuses to release what the lot file says is gone, and closes the lot without it', async () => {
    await cell.review('L-2');
    expect(await refusalOf(cell.release('L-2', units('L-2')))).toContain(
      'L-2-I2 was retained at 2031-03-05T09:00:00+01:00, as the lot file says, and is not there to be released',
    );
    await cell.release('L-2', ['L-2-I1']);
    expect(await partsOf('L-2')).toMatchObject({ 'released for distribution': 1, 'in progress': 0, retained: 1 });
    expect((await cell.services.overview.of('L-2')).closed).toBe(true);
    const waiting = (await cell.services.waiting.all()).filter(({ lot }) => lot === 'L-2');
    expect(waiting.filter(({ meaning }) => meaning === 'released' || meaning === 'rejected')).toEqual([]);
  });

  withTools(['pdftotext'], 'the record of that lot', () => {
    it('names the implant that was kept', async () => {
      expect(await textOf('L-2')).toContain('Of these retained 1 L-2-I2');
    });
  });
});

describe('a second implant for one case', () => {
  const REASON = 'the surgeon asked for two plates of one design: one as a spare on the table';
  const release = (lot: string, serials: readonly string[], reason?: string) =>
    cell.sign('P-RE', `lot file:${lot}`, { meaning: 'released', step: 'distribution', units: serials, reason });

  it('is released only with a reason that is signed, also when the first one is of another lot', async () => {
    await cell.review('L-3');
    await cell.review('L-4');
    await release('L-3', ['L-3-I1']);
    expect(await refusalOf(release('L-3', ['L-3-I2'], ' '))).toContain(
      'case K-103-1 would have 2 released implants (L-3-I1 of lot L-3, L-3-I2); give the reason why it needs them',
    );
    expect(await refusalOf(release('L-4', units('L-4')))).toContain('(L-3-I1 of lot L-3, L-4-I1)');
    await release('L-4', ['L-4-I2']);
    const signed = await release('L-3', ['L-3-I2'], REASON);
    expect(signed.statement).toMatchObject({ meaning: 'released', units: ['L-3-I2'], reason: REASON });
  });

  it('is asked for too when both are released in one act; one that was rejected or revoked does not count', async () => {
    await cell.review('L-5');
    expect(await refusalOf(release('L-5', units('L-5')))).toContain('case K-105-1 would have 2 released implants');
    await cell.reject('L-5', ['L-5-I1'], 'scratched in the store');
    await release('L-5', ['L-5-I2']);
  });

  withTools(['pdftotext'], 'its record', () => {
    it('says so on page 1 and gives the reason', async () => {
      const text = await textOf('L-3');
      expect(text).toContain('More than one implant for one case (');
      expect(text.replaceAll(' ', '')).toContain(REASON.replaceAll(' ', '').slice(0, 20));
    });
  });
});
