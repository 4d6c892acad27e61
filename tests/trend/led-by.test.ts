import type { ChangeLine } from '../../src/assessment/family/study-result.js';
import type { Reads } from '../../src/store/repositories.js';
import { ledByIn } from '../../src/trend/led-by.js';

const change = (what: ChangeLine['what'], to: string): ChangeLine => ({
  before: 1,
  what,
  from: '-',
  to,
  machine: null,
});
const CHANGES = [
  { change: 'DC-1', decision: 'go', leadsTo: [{ kind: 'recipe', key: 'RC 7', revision: 2 }] },
  { change: 'DC-2', decision: 'stop', leadsTo: [{ kind: 'recipe', key: 'RC 7', revision: 3 }] },
  { change: 'DC-3', decision: 'open', leadsTo: [{ kind: 'method', key: 'TM', revision: 4 }] },
];
const read = {
  entries: {
    tiedTo: async (_: string, kind: string, key: string, tie: string) =>
      CHANGES.filter(({ leadsTo }) => tie === 'leads to' && leadsTo[0]!.kind === kind && leadsTo[0]!.key === key).map(
        (body) => ({ body: { family: 'PLATE', ...body } }),
      ),
  },
} as unknown as Reads;

it('leads from a change line to the design change that names its new revision, and to none that was stopped', async () => {
  const lines = [
    ...[change('recipe', 'RC 7 2'), change('recipe', 'RC 7 3'), change('method', 'TM 4'), change('method', 'TM 5')],
    ...[change('machine', 'RC 7 2'), change('heat', 'TM 4')],
  ];
  const ledBy = await ledByIn(read, lines);
  expect(lines.map((line) => ledBy(line)?.to)).toEqual([
    ...['/design/change?family=PLATE&change=DC-1', undefined, '/design/change?family=PLATE&change=DC-3', undefined],
    ...[undefined, undefined],
  ]);
});
