// Not quick: it takes a cell in for each way of spoiling it.
import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import { BadInputError } from '../../src/base/errors.js';
import { basisWords } from '../../src/report/assessment-words.js';
import { zoneMapFigure } from '../../src/report/zone-map-figure.js';
import type { Cell } from '../support/cell.js';
import { factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { textsOf } from '../support/scenes.js';
import { signedFacts } from '../support/signed-facts.js';

/**
 * A lot that is built in one machine and milled in another, which has no powder: machine, recipe, validation and log are
 * asked of each closure, and of the second only what was done there.
 */

const LOT = 'lots/L-1/lot.yaml';
const LOG = 'lots/L-1/logs/finish.csv';
const ZONES = ['I1-span', 'I2-span', 'W1-span', 'W2-span'];
const BY = { recipe: 'RF', revision: 1 };

type Row = readonly [layer: string, zone: string, step: string, oxygen: number];

/** One row a second from closing to opening. */
function finishLog(rowAt: (second: number, zone: string) => Row): string {
  const rows = Array.from({ length: 61 }, (_, second) => {
    const row = rowAt(second, ZONES[Math.floor(Math.min(second, 59) / 15)]!);
    return [new Date(Date.parse('2031-03-03T08:30:00+01:00') + second * 1000).toISOString(), ...row].join(',');
  });
  return `${['timestamp,layer,zone,step,oxygen', ...rows].join('\n')}\n`;
}

function finish(cell: Cell): void {
  const { documents } = cell;
  const copy = (from: string, to: string, changes: Record<string, unknown>) => {
    documents[to] = { ...structuredClone(documents[from]!), ...changes };
  };
  copy('site/machine.yaml', 'site/mill.yaml', { machine: 'M2', title: 'Dry mill', does: ['mill'] });
  documents['site/people/operator.yaml']!.qualifications.push({ operation: 'M2', from: '2031-01-02' });
  const setting = { parameter: 'feed', set: '2', ucum: 'mm/s', unlogged: 'fixed in the program (invented)' };
  const [zone] = documents['site/recipe.yaml']!.zones;
  copy('site/recipe.yaml', 'site/recipe-finish.yaml', {
    ...{ recipe: 'RF', revision: 1, group: 'milled-plates', machine: 'M2' },
    zones: [{ ...zone, steps: [{ step: 'mill', everyLayers: 1, parameters: [setting], windows: [] }] }],
  });
  const envelope = [{ step: 'mill', parameter: 'feed', ucum: 'mm/s', min: '1', max: '3' }];
  const validated = { validation: 'PV-2', machine: 'M2', recipeGroups: ['milled-plates'], shown: [], envelope };
  copy('site/validation.yaml', 'site/validation-finish.yaml', validated);
  documents['site/specification.yaml']!.validations.push({ validation: 'PV-2', revision: 1 });
  const lot = documents[LOT]!;
  const { powder: _none, ...build } = structuredClone(lot.builds[0]);
  const times = { closedAt: '2031-03-03T08:30:00+01:00', openedAt: '2031-03-03T08:31:00+01:00' };
  const log = { ...build.log, file: 'logs/finish.csv' };
  lot.builds.push({ ...build, build: 'M2-7', machine: 'M2', run: 7, ...times, log });
  for (const part of [...lot.implants, ...lot.coupons]) {
    part.alsoIn = [{ build: 'M2-7', steps: ['mill'], recipe: BY }];
  }
  cell.files[LOG] = finishLog((_, zone) => ['', zone, 'mill', 8]);
}

const factsWith = (spoil: (cell: Cell) => void = () => {}, togetherAt?: string) =>
  factsOf((cell) => {
    finish(cell);
    spoil(cell);
  }, togetherAt);

const assessed = async (spoil?: (cell: Cell) => void, togetherAt?: string): Promise<Assessment> =>
  assessBothWays(signedFacts(await factsWith(spoil, togetherAt)));

const told = ({ checks }: Assessment) =>
  checks.flatMap(({ code, findings }) => findings.map(({ rule, units }) => [code, rule, units.join(' ')]));
const BOTH = 'L-1-I1 L-1-I2';

it('conforms without powder, and without findings on layers and steps of the machine that built it', async () => {
  const facts = await factsWith();
  expect(facts.logParts.get('M2-7')!.findings).toEqual([]);
  expect(facts.logParts.get('M1-101')!.findings).toEqual([]);
  const assessment = assessBothWays(signedFacts(facts));
  expect(told(assessment)).toEqual([]);
  expect(assessment.units.map(({ verdict }) => verdict)).toEqual(['conforms', 'conforms']);
  const basis = (code: string) => basisWords(assessment.checks.find((check) => check.code === code)!);
  expect(basis('recipe-in-force')).toBe('RC rev 2 for M1-101; RF rev 1 for M2-7');
  expect(basis('process-validated')).toBe('PV rev 1; PV-2 rev 1');
  expect(basis('recipe-inside-envelope')).toBe('RC rev 2: 2 settings for M1-101; RF rev 1: 1 settings for M2-7');
});

const WRONG: { what: string; spoil: (cell: Cell) => void; togetherAt?: string; finding: string[] }[] = [
  {
    what: 'no validation of the machine that finished',
    spoil: ({ documents }) => documents['site/specification.yaml']!.validations.pop(),
    finding: ['process-validated', 'no process validation', BOTH],
  },
  {
    what: 'a recipe that was approved after finishing',
    spoil: ({ documents }) => {
      documents['site/recipe-finish.yaml']!.approval = { by: 'P-QE', at: '2031-03-04T09:00:00+01:00' };
    },
    togetherAt: '2031-03-04T12:00:00Z',
    finding: ['recipe-in-force', 'approved after the build', BOTH],
  },
  {
    what: 'a recipe that was written for the machine that built',
    spoil: ({ documents }) => {
      documents['site/recipe-finish.yaml']!.machine = 'M1';
    },
    finding: ['recipe-in-force', 'for another machine', BOTH],
  },
  {
    what: 'a setting outside what the finishing machine was validated for',
    spoil: ({ documents }) => {
      documents['site/recipe-finish.yaml']!.zones[0].steps[0].parameters[0].set = '4';
    },
    finding: ['recipe-inside-envelope', 'outside the validated envelope', BOTH],
  },
  {
    what: 'a finishing machine that was never maintained',
    spoil: ({ documents }) => {
      documents['site/mill.yaml']!.upkeep.shift();
    },
    finding: ['machines-maintained', 'no maintenance on record', BOTH],
  },
  {
    what: 'an operator who was not trained on the finishing machine',
    spoil: ({ documents }) => documents['site/people/operator.yaml']!.qualifications.pop(),
    finding: ['operators-qualified', 'not qualified', BOTH],
  },
  {
    what: 'a zone that was not milled',
    spoil: ({ files }) => {
      files[LOG] = finishLog((_, zone) => ['', zone === 'I2-span' ? 'I1-span' : zone, 'mill', 8]);
    },
    finding: ['log-complete', 'zone never logged', 'L-1-I2'],
  },
  {
    what: 'oxygen at reject level while one implant was milled',
    spoil: ({ files }) => {
      files[LOG] = finishLog((_, zone) => ['', zone, 'mill', zone === 'I2-span' ? 120 : 8]);
    },
    finding: ['log-findings-decided', 'excursion', 'L-1-I2'],
  },
];

it.each(WRONG)('finds $what', async ({ spoil, togetherAt, finding }) => {
  const found = told(await assessed(spoil, togetherAt));
  expect(found).toContainEqual(finding);
  expect(new Set(found.map(([code]) => code)).size).toBeLessThanOrEqual(2);
});

it('shows in the picture of the zones what was found while they were milled', async () => {
  const facts = await factsWith(({ files }) => {
    files[LOG] = finishLog((_, zone) => ['', zone, 'mill', zone === 'I2-span' ? 120 : 8]);
  });
  const figure = zoneMapFigure(facts, assess(signedFacts(facts), 'test').units)!;
  expect(textsOf(figure.scene).join(' ')).toContain('excursion of oxygen to 120');
});

describe('by the recipe of the build itself', () => {
  /** M1 deposits, M2 peens by the same recipe. */
  const peenElsewhere = (cell: Cell) => {
    const lot = cell.documents[LOT]!;
    for (const part of [...lot.implants, ...lot.coupons]) part.alsoIn = [{ build: 'M2-7', steps: ['peen'] }];
    cell.files['lots/L-1/logs/run.csv'] = cell.files['lots/L-1/logs/run.csv']!.replaceAll(
      /,(\d),(\w+-span),peen,/g,
      ',$1,W2-span,deposit,',
    );
    cell.files[LOG] = finishLog((second, zone) => [second % 2 === 0 ? '2' : '4', zone, 'peen', 8]);
  };

  it('each closure owes its own steps, and a recipe and validation of another machine are objected to', async () => {
    const facts = await factsWith(peenElsewhere);
    expect([...facts.logParts.values()].flatMap(({ findings }) => findings)).toEqual([]);
    expect(told(assess(signedFacts(facts), 'test'))).toEqual([
      ['recipe-in-force', 'for another machine', BOTH],
      ['process-validated', 'no process validation', BOTH],
    ]);
  });

  it('settings are asked of those steps alone that were done there', async () => {
    const found = told(
      await assessed((cell) => {
        peenElsewhere(cell);
        Object.assign(cell.documents['site/validation-finish.yaml']!, {
          recipeGroups: ['plates'],
          envelope: [{ step: 'peen', parameter: 'force', ucum: 'N', min: '45', max: '50' }],
        });
      }),
    );
    expect(found).toEqual([
      ['recipe-in-force', 'for another machine', BOTH],
      ['recipe-inside-envelope', 'outside the validated envelope', BOTH],
    ]);
  });
});

it('does not let a coupon speak that went through other steps there', async () => {
  const found = told(
    await assessed(({ documents }) => {
      documents[LOT]!.coupons[0].alsoIn[0] = { build: 'M2-7', steps: ['peen', 'mill'], recipe: BY };
    }),
  );
  expect(found).toContainEqual(['coupons-planned', 'not the same steps in a further closure', 'L-1-I1']);
});

// biome-ignore lint/suspicious/noExplicitAny: tests spoil documents at any depth
const REFUSED: { what: string; spoil: (lot: any) => void; field: string }[] = [
  { what: 'a build without powder', spoil: ({ builds }) => delete builds[0].powder, field: 'builds[0].powder' },
  {
    what: 'a further closure that deposits without powder',
    spoil: ({ implants }) => implants[0].alsoIn[0].steps.push('deposit'),
    field: 'builds[1].powder',
  },
  {
    what: 'a closure without powder that nobody went through',
    spoil: ({ implants, coupons }) => {
      for (const part of [...implants, ...coupons]) delete part.alsoIn;
    },
    field: 'builds[1].powder',
  },
  {
    what: 'a further closure that is the build itself',
    spoil: ({ implants }) => implants[0].alsoIn.push({ build: 'M1-101', steps: ['mill'] }),
    field: 'implants[0].alsoIn[1].build',
  },
  {
    what: 'a further closure that the lot does not declare',
    spoil: ({ implants }) => implants[0].alsoIn.push({ build: 'M2-8', steps: ['mill'] }),
    field: 'implants[0].alsoIn[1].build',
  },
  {
    what: 'a further closure for steps that its recipe does not have',
    spoil: ({ implants }) => {
      implants[0].alsoIn[0].steps = ['peen'];
    },
    field: 'builds M2-7, L-1-I1',
  },
  {
    what: 'a zone that the recipe does not have',
    spoil: ({ implants }) => {
      implants[0].zones[0].recipeZone = 'spam';
    },
    field: 'builds M1-101, L-1-I1',
  },
  {
    what: 'a further closure by a recipe that is not known',
    spoil: ({ implants }) => {
      implants[0].alsoIn[0].recipe = { recipe: 'RF', revision: 2 };
    },
    field: 'implants[0].alsoIn[0].recipe',
  },
];

it.each(REFUSED)('refuses $what', async ({ spoil, field }) => {
  const error = await factsWith(({ documents }) => spoil(documents[LOT]!)).catch((caught: unknown) => caught);
  expect((error as BadInputError).problems.map((problem) => problem.field)).toContain(field);
});
