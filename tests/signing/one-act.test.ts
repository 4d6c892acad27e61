import type { CheckFinding } from '../../src/assessment/assessment.js';
import { addLot } from '../support/cell.js';
import { addLotWithPeaks, refusalOf, SigningCell } from '../support/signing-cell.js';

/** Seconds of the log in which an implant is deposited: see signing-findings.test.ts. */
const [I1_LAYER_1, I1_LAYER_3] = [2, 62];

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    addLotWithPeaks(what, 'L-A', 201, { [I1_LAYER_1]: 60, [I1_LAYER_3]: 70 });
    addLotWithPeaks(what, 'L-B', 202, { [I1_LAYER_1]: 60 });
  });
  // Lots whose names differ by what SQL takes for any letter; same values, same times, and limits that came later.
  const { documents } = cell.cell;
  documents['site/specification-4.yaml'] = {
    ...documents['site/specification.yaml'],
    revision: 4,
    characteristics: documents['site/specification.yaml']!.characteristics.map((item: { lower: string }) => ({
      ...item,
      lower: item.lower === '215' ? '214' : '1.44',
    })),
  };
  for (const [index, lot] of ['T_1', 'T-1', 't_1', 'T_10'].entries()) {
    addLot(cell.cell, lot, 301 + index, '2031-02-20', { rm: 230, thickness: 1.5 });
    documents[`lots/${lot}/lot.yaml`]!.specification.revision = 4;
  }
  await cell.intake();
  for (const lot of ['L-A', 'L-B', 'T_1', 'T-1', 't_1', 'T_10'])
    await cell.services.assessor.assess(lot, 'local:tester');
});
afterAll(() => cell.close());

async function findingsOf(lot: string, check = 'limits-before-data'): Promise<CheckFinding[]> {
  const { assessment } = await cell.services.assessor.assess(lot, 'local:tester');
  return assessment.checks.find(({ code }) => code === check)!.findings;
}
const named = (lot: string, { id }: CheckFinding) => `check finding:${lot}:${id.slice(0, 12)}#${id}`;

describe('what one act covers', () => {
  it('is a listed set of one kind: other kinds are signed apart, with another proof of identity', async () => {
    const act = cell.sign('P-QE', ['recipe:RC@2', 'method:TM-T@1'], { meaning: 'approved' });
    expect(await refusalOf(act)).toBe(
      'BAD_INPUT: thing: found things of recipe, test method; expected things of one kind; sign them apart, each with its password',
    );
  });

  it('is of one lot: a decision on two lots is two', async () => {
    const both = [...(await cell.logFindings('L-A', 'action')), ...(await cell.logFindings('L-B', 'action'))];
    expect(both).toHaveLength(3);
    const size = await cell.services.store.read.ledger.size();
    expect(await refusalOf(cell.decide('P-PE', both))).toContain(
      'found things of L-A, L-B; expected things of one lot',
    );
    expect(await cell.services.store.read.ledger.size()).toBe(size);
  });

  it('names each thing once', async () => {
    const [finding] = await cell.logFindings('L-B', 'action');
    expect(await refusalOf(cell.decide('P-PE', [finding!, finding!.split('#')[0]!]))).toContain(
      'expected each thing once',
    );
  });

  it('is refused whole when one of the set may not be signed, and is told once', async () => {
    const [first, second] = await cell.logFindings('L-A', 'action');
    await cell.decide('P-PE', [second!]);
    const both = [first!, second!];
    expect(await refusalOf(cell.decide('P-PE', both))).toContain('it takes two people, and P-PE did');
    expect(await cell.services.store.read.signatures.on([first!.split('#')[1]!])).toEqual([]);
    expect(await cell.refusals('L-A')).toHaveLength(1);
    const signed = await cell.decide('P-QE', both);
    expect(signed.statement.subjects).toHaveLength(2);
  });

  it('is found in the audit trail by each thing that it covers', async () => {
    const [first, second] = await cell.logFindings('L-A', 'action');
    const last = await cell.services.store.read.ledger.size();
    const entries = async (thing: string) =>
      (
        await cell.services.store.read.trail.before({ thing, person: 'P-QE', act: 'statement-signed' }, last + 1, 10)
      ).map(({ seq }) => seq);
    const [seq, ...more] = await entries(first!.split('#')[1]!);
    expect([seq, more]).toEqual([expect.any(Number), []]);
    for (const thing of [first!, second!]) {
      const [name, digest] = thing.slice('log finding:'.length).split('#');
      expect([await entries(name!), await entries(digest!)]).toEqual([[seq], [seq]]);
    }
  });
});

describe('two lots with the same specification, counts, rows and times', () => {
  it('have findings of their own, and a decision on one leaves the other to be decided', async () => {
    const [one, other] = [await findingsOf('T_1'), await findingsOf('T-1')];
    expect([one.length, other.length]).toEqual([2, 2]);
    expect(one.map(({ facts, subjects }) => ({ facts, subjects }))).toEqual(
      other.map(({ facts, subjects }) => ({ facts, subjects })),
    );
    const ids = [...one, ...other].map(({ id }) => id);
    expect(new Set(ids).size).toBe(4);
    for (const person of ['P-PE', 'P-QE']) {
      await cell.decide(
        person,
        one.map((finding) => named('T_1', finding)),
      );
    }
    expect((await findingsOf('T_1')).map(({ decision }) => decision)).toEqual(['accepted', 'accepted']);
    expect((await findingsOf('T-1')).map(({ decision }) => decision)).toEqual([null, null]);
    await cell.decide(
      'P-PE',
      other.map((finding) => named('T-1', finding)),
    );
    expect((await findingsOf('T-1')).map(({ decision }) => decision)).toEqual(['half', 'half']);
  });

  it('take over no signature of a lot that is called alike', async () => {
    const signaturesOf = async (lot: string) =>
      (await cell.services.assessor.facts(lot)).dossier.signatures.filter(({ statement }) =>
        statement.subjects.some(({ kind }) => kind === 'check finding'),
      );
    for (const [lot, count] of [
      ['T_1', 2],
      ['T-1', 1],
      ['t_1', 0],
      ['T_10', 0],
    ] as const) {
      await cell.services.assessor.assess(lot, 'local:tester');
      expect([lot, (await signaturesOf(lot)).length]).toEqual([lot, count]);
    }
  });
});
