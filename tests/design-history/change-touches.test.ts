import { changeStanding } from '../../src/design-history/change-state.js';
import { changeTouches, touchedSha256 } from '../../src/design-history/change-touches.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import type { DesignChange } from '../../src/kinds/design-history/design-change.js';
import { CHANGE_LINES } from '../../src/report/phrases/design-changes.js';
import { factsOf, wholeHistory } from '../support/whole-history.js';

const design = new DesignIndex({
  ...factsOf(wholeHistory()),
  statements: [{ characteristic: 'rm', number: 1, digest: 'a1'.repeat(32), lower: 1.4 }],
});
const LOTS = [
  { lot: 'L-1', places: '1 in stock, 1 with the institution', holders: ['Invented clinic'] },
  { lot: 'L-2', places: '2 in process', holders: [] },
];
const touched = (kind: string, key: string, revision: number, lots = LOTS) =>
  changeTouches(design, { changes: [{ kind, key, revision }] }, lots, CHANGE_LINES).map(
    ({ sort, key: of }) => `${sort} ${of}`,
  );

it('lists lots, documents both ways, studies on these lots, risks that they verify, statements, and who is to be told', () => {
  const found = touched('specification', 'SP', 3);
  expect(found.slice(0, 2)).toEqual(['lot L-1', 'lot L-2']);
  expect(found).toEqual(
    expect.arrayContaining([
      ...['entry design-output DO-1', 'entry method TM-T', 'study design-study DS-1', 'risk risk-control RC-1'],
      ...['statement PLATE:rm', 'to be told Invented clinic'],
    ]),
  );
  expect(new Set(found).size).toBe(found.length);
});

it('leaves out studies and risks of lots that it does not touch, and whoever has nothing of them', () => {
  const found = touched('recipe', 'RC', 2, [LOTS[1]!]);
  expect(found.filter((line) => /^(study|risk|to be told|statement)/.test(line))).toEqual([]);
  expect(found).toContain('entry design-transfer DT-1');
});

it('is closed only with its list as frozen, an answer to each line, a decision and its approval', () => {
  const lines = ['L-1', 'L-2'].map((key) => ({ sort: 'lot' as const, key, says: 'in stock' }));
  const touches = { asOf: { entries: 1, root: '5a'.repeat(32) }, sha256: touchedSha256(lines), lines };
  const all = lines.map((line) => ({ ...line, answer: 'nothing follows' }));
  const standing = (body: object, approvedBy: string | null = 'P-QE') =>
    changeStanding({ body: { decision: 'go', ...body } as DesignChange, approvedBy }).state;
  expect(standing({})).toBe('not listed');
  expect(standing({ touches })).toBe('lines open');
  expect(standing({ touches: { ...touches, lines: [all[0]!, lines[1]!] } })).toBe('lines open');
  expect(standing({ touches: { ...touches, lines: all.slice(1) } })).toBe('list altered');
  expect(standing({ touches: { ...touches, lines: all }, decision: 'open' })).toBe('to be decided');
  expect(standing({ touches: { ...touches, lines: all } }, null)).toBe('to be approved');
  expect(standing({ touches: { ...touches, lines: all } })).toBe('closed');
  expect(standing({ touches, decision: 'stop' })).toBe('stopped');
});
