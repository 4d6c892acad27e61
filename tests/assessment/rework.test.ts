import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import { ownValues } from '../../src/assessment/own-history.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { Nonconformity } from '../../src/kinds/nonconformity.js';
import { historyRows } from '../../src/lots/history-rows.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { valueText } from '../../src/report/phrases/values.js';
import { NONCONFORMITY, signaturesOn } from '../support/documents/nonconformity.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays, listed } from '../support/note-files.js';
import { signedFacts } from '../support/signed-facts.js';

const [I1, I2, W1] = ['L-1-I1', 'L-1-I2', 'L-1-W1'];
const AGAIN = '2031-03-07T09:00:00+01:00';

/** The first implant was measured, cleaned again by an instruction, and measured again. */
let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => {
    cell.documents['lots/nonconformity.yaml'] = {
      ...NONCONFORMITY,
      disposition: [{ units: [I1], as: 'rework', justification: 'a residue that cleaning takes away (invented)' }],
      closure: { by: 'P-QE', at: '2031-03-08T09:00:00+01:00', says: 'measured again (invented)' },
    };
    cell.documents['lots/instruction.yaml'] = {
      kind: 'rework-instruction',
      format: 1,
      instruction: 'RW',
      revision: 1,
      title: 'Clean again',
      nonconformity: 'NC-1',
      steps: [{ step: 'clean', how: 'bath B for two minutes (invented)' }],
      disturbs: ['thickness'],
      repeat: ['thickness'],
      timesAtMost: 1,
      sideEffects: 'takes away less than 1 um (invented)',
      effectiveFrom: '2031-03-05T09:00:00+01:00',
      approval: { by: 'P-QE', at: '2031-03-05T09:00:00+01:00' },
    };
    cell.documents['lots/L-1/lot.yaml']!.steps = [
      { step: 'clean', at: '2031-03-03T10:00:00+01:00', by: 'P-OP' },
      {
        step: 'clean',
        at: '2031-03-06T09:00:00+01:00',
        by: 'P-OP',
        parts: [I1],
        instruction: { instruction: 'RW', revision: 1 },
      },
    ];
    const sheet = cell.sheets['lots/L-1/results/size.csv']!;
    sheet.push({ ...sheet[0]!, replicate: '2', value: '1.499', measuredAt: AGAIN });
  }, '2031-03-09T12:00:00Z');
});

function lotWith(change: (copy: Editable) => void = () => {}, decidedAt?: string): Facts {
  const copy = edited(facts, (one) => {
    // Site and lot come in together: the limits were there before.
    one.specification.recordedAt = '2031-01-12T09:00:00.000Z';
    change({
      ...one,
      lot: one.lot.body,
      report: one.dossier.pinned.find(({ kind }: Editable) => kind === 'nonconformity').body,
      instruction: one.reworkInstructions.get('RW rev 1').body,
    });
    for (const item of one.dossier.pinned) {
      if (item.kind === 'rework-instruction') item.body = one.reworkInstructions.get('RW rev 1')?.body;
    }
  });
  const { body } = copy.dossier.pinned.find(({ kind }) => kind === 'nonconformity')!;
  const signed = signaturesOn(body as Nonconformity).map((one) =>
    decidedAt === undefined || one.statement.meaning !== 'decided'
      ? one
      : { ...one, statement: { ...one.statement, at: decidedAt } },
  );
  return signedFacts(copy, ...signed);
}

const found = ({ checks }: Assessment) =>
  checks.flatMap(({ code, findings }) =>
    findings.map(({ rule, units, mayBeDecided }) => `${code}: ${rule}, ${units.join(' ')} (${mayBeDecided})`),
  );
const of = ({ characteristics }: Assessment, unit: string, name: string) =>
  characteristics.find((one) => one.unit === unit && one.characteristic === name)!;

it('judges what was reworked by what was measured since, and shows the earlier value beside it', () => {
  const lot = lotWith();
  const assessed = assessBothWays(lot);
  expect(found(assessed)).toEqual([]);
  expect(assessed.releasable).toEqual([I1, I2]);
  expect(assessed.checks.find(({ code }) => code === 'rework-repeated')!.outcome).toBe('passes');
  const { values } = of(assessed, I1!, 'thickness');
  expect(values.map(({ value, role }) => [value, role])).toEqual([
    ['1.501', 'reworked'],
    ['1.499', 'planned'],
  ]);
  const item = lot.specification.body.characteristics[1]!;
  expect(valueText(item, values[0]!)).toContain('measured before the rework by RW rev 1');
});

it('tells of a rework that was decided when it was done already', () => {
  const late = lotWith(undefined, '2031-03-06T10:00:00.000Z');
  expect(found(assessBothWays(late))).toEqual([`rework-repeated: decided after the work, ${I1} (concession)`]);
});

it('follows the process by its first values', () => {
  const own = ownValues(lotWith()).find(({ item }) => item.characteristic === 'thickness')!;
  expect(own.values.map(({ value }) => value)).toEqual(['1.501', '1.502']);
  expect(own.again.map(({ result, why }) => [result.value, why])).toEqual([['1.499', 'reworked']]);
});

it('tells the history what was measured again, who decided that it does not conform, and how all was made', () => {
  const lot = lotWith(({ results, dossier, lot: body }: Editable) => {
    dossier.pinned.find(({ kind }: Editable) => kind === 'nonconformity').body.disposition[0].as = 'scrap';
    const [first] = results.filter(
      ({ characteristic, specimen }: Editable) => characteristic === 'rm' && specimen === W1,
    );
    results.push({ ...first, piece: 'C', replicate: '9', value: '231.9' });
    body.coupons.push({ ...body.coupons[0], coupon: 'L-1-W9', use: 'spare' });
    results.push({ ...first, specimen: 'L-1-W9', replicate: '1', value: '232.5' });
  });
  const rows = historyRows(lot);
  const of = (characteristic: string) => rows.find((row) => row.characteristic === characteristic)!;
  expect(of('rm').n).toBe(4);
  expect(of('rm').beside.apart!.map(({ value, why }) => [value, why])).toEqual([
    ['231.9', 'repeat'],
    ['232.5', 'replacement'],
  ]);
  expect(of('thickness').beside.nonconforming).toEqual([
    { specimen: I1, nonconformity: 'NC-1', as: 'scrap', decidedBy: ['P-PE', 'P-QE'] },
  ]);
  const { made, judged } = of('rm').beside;
  expect(made).toMatchObject({ operator: 'P-OP', maintained: expect.stringMatching(/^20/) });
  expect(made!.powder.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 2);
  expect(made!.calibrated.every(({ at }) => at !== null)).toBe(true);
  expect(judged).toMatchObject({ specification: 'SP', revision: 3 });
});

/** The coupons stand for the first implant, and its strength is disturbed. */
const strengthDisturbed = ({ instruction }: Editable): void => {
  instruction.disturbs.push('rm');
  instruction.repeat.push('rm');
};

const SPOILED: readonly [what: string, told: readonly string[], change: (copy: Editable) => void][] = [
  [
    'nothing was measured since',
    [`results-complete: result missing, ${I1} (concession)`],
    ({ results }) =>
      results.splice(
        results.findIndex(
          ({ replicate, characteristic }: Editable) => replicate === '2' && characteristic === 'thickness',
        ),
        1,
      ),
  ],
  [
    'the coupon did not share the rework',
    [`results-complete: nothing since the rework, ${I1} (concession)`],
    strengthDisturbed,
  ],
  [
    'the coupon went alone, which takes nothing from what was measured on it before',
    [`rework-repeated: no rework by an instruction, ${I1} (no)`],
    (copy) => {
      strengthDisturbed(copy);
      copy.lot.steps[1].parts = [W1];
    },
  ],
  [
    'its instruction is approved by nobody',
    [`rework-repeated: no approval, ${I1} (no)`],
    ({ instruction }) => {
      delete instruction.approval;
    },
  ],
  [
    'its instruction was approved after the work',
    [`rework-repeated: approved after the work, ${I1} (concession)`],
    ({ instruction }) => {
      instruction.approval.at = '2031-03-06T10:00:00+01:00';
    },
  ],
  [
    'its instruction was not in force',
    [`rework-repeated: not yet effective, ${I1} (concession)`],
    ({ instruction }) => {
      instruction.effectiveFrom = '2031-03-06T10:00:00+01:00';
    },
  ],
  [
    'its instruction is gone',
    [
      `rework-repeated: instruction not on record, ${I1} (no)`,
      `rework-repeated: no rework by an instruction, ${I1} (no)`,
    ],
    (copy) => {
      copy.reworkInstructions.clear();
      copy.dossier.pinned.splice(
        copy.dossier.pinned.findIndex(({ kind }: Editable) => kind === 'rework-instruction'),
        1,
      );
    },
  ],
  [
    'it was reworked once too often',
    [`rework-repeated: reworked too often, ${I1} (concession)`],
    ({ lot }) => lot.steps.push({ ...lot.steps[1], at: '2031-03-06T12:00:00+01:00' }),
  ],
  [
    'a step of the instruction was left out',
    [`rework-repeated: step left out, ${I1} (concession)`],
    ({ instruction }) => instruction.steps.push({ step: 'dry', how: 'at 60 degrees (invented)' }),
  ],
  [
    'what was to be measured again was not',
    [`rework-repeated: not measured again, ${I1} (concession)`],
    ({ instruction }) => instruction.repeat.push('roughness'),
  ],
  [
    'another implant was reworked beside it',
    [`results-complete: result missing, ${I2} (concession)`, `rework-repeated: not decided as rework, ${I2} (no)`],
    ({ lot }) => lot.steps[1].parts.push(I2),
  ],
  [
    'it names no instruction',
    [
      `coupons-represent: not the same step after the build, ${I1} (concession)`,
      `rework-repeated: no rework by an instruction, ${I1} (no)`,
    ],
    ({ lot }) => {
      delete lot.steps[1].instruction;
    },
  ],
];

it.each(SPOILED)('finds that %s', (_, told, change) => {
  const assessed = assessBothWays(lotWith(change));
  expect(found(assessed).sort()).toEqual([...told].sort());
  for (const { code, findings } of assessed.checks) {
    for (const finding of findings) {
      const { says, clearedBy } = findingWords(code, finding);
      expect(`${says} ${clearedBy}`).not.toMatch(/undefined|\[object|assess the lot again/);
    }
  }
});

/** A row of strength that was measured after the rework. */
const strengthAgain = (results: Editable, specimen: string, replicate: string, value: string): void => {
  const known = results.find((row: Editable) => row.specimen === W1);
  results.push({ ...known, specimen, replicate, value, measuredAt: AGAIN });
};

it('lets a spare coupon speak that shared the rework, and keeps the values of the others in sight', () => {
  const assessed = assessBothWays(
    lotWith((copy) => {
      strengthDisturbed(copy);
      const coupon = { ...copy.lot.coupons[0], coupon: 'L-1-W3', use: 'spare' };
      copy.lot.coupons.push(coupon);
      copy.lot.steps[1].parts.push('L-1-W3');
      for (const replicate of ['1', '2']) strengthAgain(copy.results, 'L-1-W3', replicate, '231.0');
    }),
  );
  const { verdict, values } = of(assessed, I1!, 'rm');
  expect([verdict, values.map(({ specimen, role }) => `${specimen} ${role}`)]).toEqual([
    'conforms',
    [`${W1} reworked`, `${W1} reworked`, 'L-1-W3 planned', 'L-1-W3 planned'],
  ]);
});

it.each(['every-unit', 'zero-acceptance'] as const)(
  'judges a coupon of two implants for each as it was reworked, by the plan %s',
  (plan) => {
    const assessed = assessBothWays(
      lotWith((copy) => {
        strengthDisturbed(copy);
        copy.lot.coupons[0].standsFor = [I1, I2];
        copy.lot.coupons.pop();
        copy.lot.steps[1].parts.push(W1);
        const [item] = copy.specification.body.characteristics;
        if (plan === 'zero-acceptance')
          item.plan = { rule: plan, confidence: '0.5', reliability: '0.5', of: 'process' };
        for (const replicate of ['3', '4']) strengthAgain(copy.results, W1!, replicate, '10');
      }),
    );
    expect([of(assessed, I1!, 'rm').verdict, of(assessed, I2!, 'rm').verdict]).toEqual([
      'does not conform',
      'conforms',
    ]);
    expect(
      of(assessed, I2!, 'rm')
        .values.slice(2)
        .map(({ why }) => why.code),
    ).toEqual(['after rework', 'after rework']);
  },
);

it('does not apply where nothing was reworked or decided to be', async () => {
  const lot = signedFacts(await factsOf());
  const { checks } = assess(listed(lot), 'test');
  expect(checks.find(({ code }) => code === 'rework-repeated')!.outcome).toBe('does not apply');
});
