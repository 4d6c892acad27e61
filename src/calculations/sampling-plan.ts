import { z } from 'zod';
import {
  AQL_COLUMNS,
  CODE_LETTERS,
  INSPECTION_LEVELS,
  LOT_SIZE_ENDS,
  samplingPlan as lookUp,
} from '../statistics/attribute-sampling.js';
import { count, decimal } from '../statistics/inputs.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  lotSize: count('items in the lot', 2, 1_000_000_000),
  level: z
    .enum(['I', 'II', 'III', 'S-1', 'S-2', 'S-3', 'S-4'])
    .describe('inspection level; II unless agreed otherwise'),
  aql: decimal.describe(`acceptable quality level, per cent, as the tables head it: ${AQL_COLUMNS.join(', ')}`),
  inspection: z.enum(['normal', 'tightened', 'reduced']).describe('severity of inspection'),
});

export const samplingPlan: AnyCalculation = defineCalculation({
  name: 'sampling-plan',
  purpose: 'Single sampling plan for attributes of bought-in items (pouches, labels), by lot size and AQL',
  input,
  output: {
    letter: 'code letter of lot size and level',
    letterUsed: 'code letter of the plan after following arrows',
    n: 'items to inspect (the whole lot where the table asks for as many or more)',
    accept: 'accept the lot with up to this many nonconforming items',
    reject: 'reject it with this many or more',
  },
  formula: formulaText(),
  source: 'MIL-STD-105E (1989), tables I, II-A, II-B and II-C (public domain; ISO 2859-1 succeeds it)',
  example: {
    input: { lotSize: 1000, level: 'II', aql: '0.40', inspection: 'normal' },
    source: 'MIL-STD-105E, tables I and II-A',
    steps: [
      'lot of 501 to 1200, level II: letter J, row 8 counted from A = 0',
      'AQL 0.40 is column 8 counted from 0.010 = 0; place 8 + 8 − 14 = 2: arrow down',
      'letter K, row 9: place 9 + 8 − 14 = 3: accept 1; sample size of K is 125; reject 2',
    ],
  },
  compute({ lotSize, level, aql, inspection }: z.infer<typeof input>) {
    const { tableSampleSize, ...plan } = lookUp(lotSize, level, aql, inspection);
    return {
      ...plan,
      method: `table look-up, ${inspection} inspection, arrows followed (sample size and acceptance number move together)`,
      source: 'MIL-STD-105E (1989)',
      notes: notesWhere(
        [true, 'for bought-in items such as pouches and labels; an AQL says nothing about a single lot'],
        [plan.letter !== plan.letterUsed, `the cell of letter ${plan.letter} is an arrow to letter ${plan.letterUsed}`],
        [tableSampleSize >= lotSize, `the table asks for ${tableSampleSize}: inspect the whole lot`],
        [
          plan.reject - plan.accept > 1,
          `with more than ${plan.accept} and fewer than ${plan.reject} nonconforming items, accept the lot and go back to ` +
            'normal inspection',
        ],
        [
          inspection === 'reduced',
          'the reduced table was confirmed for the whole column 2.5 and for letter K at 0.65; the rest follows its diagonal',
        ],
      ),
    };
  },
});

function formulaText(): string {
  const ranges = [...LOT_SIZE_ENDS.map((end, i) => `${(LOT_SIZE_ENDS[i - 1] ?? 1) + 1}–${end}`), '500001 and more'];
  const rows = ranges.map(
    (range, i) => `  ${range}: ${INSPECTION_LEVELS.map((level) => `${level} ${CODE_LETTERS[level][i]}`).join(', ')}`,
  );
  return [
    'Table I, code letter by lot size and level:',
    ...rows,
    'Rows: letters A B C D E F G H J K L M N P Q R (S) are rows 0 to 16, with sample sizes',
    '  normal, tightened: 2 3 5 8 13 20 32 50 80 125 200 315 500 800 1250 2000 (3150)',
    '  reduced: 2 2 2 3 5 8 13 20 32 50 80 125 200 315 500 800',
    `Columns: AQL ${AQL_COLUMNS.join(' ')} are columns 0 to 25.`,
    'The master tables repeat along their diagonal: place = row + column − 14 (tightened: − 15).',
    '  place below 0: arrow down',
    '  normal (II-A), place 0, 1, …: accept 0, up, down, 1, 2, 3, 5, 7, 10, 14, 21, (30, 44 for letters A to E), then up;',
    '    reject = accept + 1',
    '  tightened (II-B): 0, down, down, 1, 2, 3, 5, 8, 12, 18, then up; letter A at place 0 is down; reject = accept + 1',
    '  reduced (II-C), accept/reject: 0/1, up, down, 0/2, 1/3, 1/4, 2/5, 3/6, 5/8, 7/10, 10/13, then up',
    'Arrow: go to the next letter in its direction and take both sample size and numbers from there (an arrow down in the',
    'last row R counts as up). If the sample size reaches the lot size, inspect the whole lot.',
    'Refused, as no source at hand confirms them: reduced above AQL 6.5; tightened, letters A to E, beyond accept 18;',
    'tightened R at 0.015; normal A at 10.',
  ].join('\n');
}
