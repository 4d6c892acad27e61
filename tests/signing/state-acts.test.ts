import { findingWords } from '../../src/report/assessment-words.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
});
afterAll(() => cell.close());

const acts = () => cell.services.stateActs;
const METHOD = { kind: 'method', key: 'TM-T', revision: 1 };

describe('a hold', () => {
  it('names units of the lot and a reason', async () => {
    const place = async (units: string[], reason: string) =>
      acts().placeHold(await cell.prove('P-OP'), 'L-1', units, reason);
    expect(await refusalOf(place([], 'fell'))).toContain('units of this lot: L-1-I1, L-1-I2');
    expect(await refusalOf(place(['L-2-I1'], 'fell'))).toContain('found L-2-I1');
    expect(await refusalOf(place(['L-1-I1'], ' '))).toContain('a reason');
  });

  it('cannot be lifted where none lies', async () => {
    const lift = acts().liftHold(await cell.prove('P-QE'), 'L-1', ['L-1-I1'], 'looked at');
    expect(await refusalOf(lift)).toBe('CONFLICT: L-1-I1 is not on hold');
  });

  it('is an event with who, when and why, and its refusals are events of the lot too', async () => {
    await acts().placeHold(await cell.prove('P-AN'), 'L-1', ['L-1-I2'], 'a scratch');
    await refusalOf(acts().liftHold(await cell.prove('P-AN'), 'L-1', ['L-1-I2'], 'polished'));
    const events = await cell.services.store.read.events.of({ kind: 'lot', key: 'L-1' });
    expect(events.map(({ event, actor, reason }) => [event.type, actor, reason])).toEqual([
      ['hold-placed', 'person:P-AN', 'a scratch'],
      ['act-refused', 'person:P-AN', null],
    ]);
    expect(await cell.refusals('L-1')).toEqual([expect.stringMatching(/^P-AN: lift a hold \(lot L-1\): /)]);
  });
});

describe('a document withdrawn for cause', () => {
  it('is withdrawn by the roles that may, once, with a reason, and when it exists', async () => {
    const withdraw = async (person: string, document = METHOD, reason = 'the grips slip') =>
      acts().withdrawDocument(await cell.prove(person), document, reason);
    expect(await refusalOf(withdraw('P-OP'))).toContain('"withdraw a document for cause" needs the role');
    expect(await refusalOf(withdraw('P-PE', { ...METHOD, revision: 9 }))).toContain('TM-T revision 9');
    expect(await refusalOf(withdraw('P-PE', METHOD, ''))).toContain('a reason');
    await withdraw('P-PE');
    expect(await refusalOf(withdraw('P-QE'))).toContain('TM-T revision 1 is withdrawn already');
  });

  it('blocks the release of what rests on it: check documents-not-withdrawn', async () => {
    const { assessment } = await cell.services.assessor.assess('L-1', 'local:tester');
    const check = assessment.checks.find(({ code }) => code === 'documents-not-withdrawn')!;
    expect(check.findings.map((finding) => findingWords(check.code, finding).says)).toEqual([
      expect.stringContaining('the grips slip'),
    ]);
    expect(assessment.releasable).toEqual([]);
    await cell.review('L-1');
    expect(await refusalOf(cell.release('L-1', ['L-1-I1']))).toContain('L-1-I1 may not be released');
  });
});
