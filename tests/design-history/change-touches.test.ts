import { changeTouches } from '../../src/design-history/change-touches.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
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
