import type { Facts } from '../../src/dossier/facts.js';
import { stepSettings } from '../../src/dossier/family-history.js';
import { frostPointC } from '../../src/process-logs/dew-point.js';
import { depositedRows } from '../../src/report/deposited-rows.js';
import { gasRows } from '../../src/report/gas-rows.js';
import { buildFigure, channelFigure } from '../../src/report/log-figures.js';
import { timelineFigures } from '../../src/report/lot-timeline.js';
import { powderBalanceRows } from '../../src/report/powder-rows.js';
import { settingsBefore } from '../../src/report/setting-changes.js';
import { touchedBy } from '../../src/report/touched-by.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { textsOf } from '../support/scenes.js';
import { signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

/** Argon from a tank, and from the second minute on from a bottle. */
function withGas(copy: Editable): void {
  const gas = (code: string, water: string) =>
    copy.receipts.set(code, {
      ...copy.receipts.get('R-1'),
      body: {
        ...copy.receipts.get('R-1').body,
        ...{ receipt: code, material: 'argon', category: 'gas' },
        certificate: {
          number: `C-${code}`,
          type: 'gas analysis',
          lines: [{ property: 'H2O', value: water, ucum: '[ppm]' }],
        },
      },
    });
  gas('R-A', '<1');
  gas('R-B', '10');
  copy.lot.body.builds[0].gas = [
    { receipt: 'R-A', quantity: { value: '1.2', ucum: 'kg' } },
    { receipt: 'R-B', bottle: 'B-7', from: '2031-03-03T08:01:00+01:00' },
  ];
}

describe('gas', () => {
  it('has a dew point at one atmosphere, over ice (docs/trade.md 3.8)', () => {
    const shares = [1, 10, 50, 100, 500].map((ppm) => Math.round(frostPointC(ppm / 1e6)!));
    expect(shares).toEqual([-76, -60, -48, -42, -27]);
    expect(frostPointC(0.5)).toBeUndefined();
  });

  it('stands by bottle beside what the chamber logged while it was open', () => {
    const [tank, bottle, ...more] = gasRows(edited(facts, withGas));
    expect(more).toEqual([]);
    expect([tank!.gas, tank!.used, tank!.analysis]).toEqual(['R-A, argon', '1.2 kg', 'H2O <1 ppm (dew point <−76 °C)']);
    expect([bottle!.gas, bottle!.used]).toEqual(['R-B, bottle B-7, argon', 'not stated']);
    expect(bottle!.open).toMatch(/^changed to it 2031-03-03 07:01 UTC to 2031-03-03 07:02 UTC$/);
    expect([tank!.chamber, bottle!.chamber]).toEqual(['oxygen 8 to 8 ppm', 'oxygen 8 to 8 ppm']);
  });

  it('that is changed while the chamber is closed is an event in the course of its log and of the lot', () => {
    const changed = edited(facts, withGas);
    const [build] = changed.lot.body.builds;
    expect(textsOf(buildFigure(changed, build!)!.scene)).toEqual(expect.arrayContaining(['gas R-A', 'gas B-7']));
    const { scene, alt } = channelFigure(changed, build!, 'oxygen')!;
    expect(textsOf(scene).join(' ')).toContain('0.02 h: gas changed to B-7');
    expect(alt).toContain('0.02 h: gas changed to B-7');
    const timeline = timelineFigures({ facts: changed, signatures: [], states: [], isTold: () => true });
    expect(timeline.flatMap(({ scene: drawn }) => textsOf(drawn)).join(' ')).toContain('gas changed to B-7, M1-101');
  });

  it('that is one for all of the closure is no event', () => {
    const [build] = facts.lot.body.builds;
    expect(textsOf(buildFigure(facts, build!)!.scene).join(' ')).not.toContain('gas');
  });
});

describe('deposited metal', () => {
  const analysed = (change: (copy: Editable) => void = () => {}) =>
    depositedRows(
      edited(facts, (copy) => {
        const { characteristics } = copy.specification.body;
        const like = (code: string, deposited: string, ucum: string) =>
          characteristics.push({ ...characteristics[0], characteristic: code, title: code, ucum, deposited });
        like('zn', 'Zn', '%');
        like('fe', 'Fe', '[ppm]');
        like('o', 'O', '%');
        const row = copy.results[0];
        const value = (specimen: string, characteristic: string, found: string, standardUncertainty = '') =>
          copy.results.push({ ...row, specimen, characteristic, value: found, standardUncertainty, replicate: '1' });
        value('L-1-W1', 'zn', '0.40', '0.006');
        value('L-1-W2', 'zn', '0.42', '0.008');
        value('L-1-W1', 'fe', '45');
        value('L-1-W1', 'o', '0.11');
        copy.receipts.get('R-1').body.certificate.lines[1].uncertainty = '0.010';
        change(copy);
      }),
    );

  // Zn: (0.40 + 0.42) / 2 = 0.41 with u = √(0.006² + 0.008²) / 2 = 0.005; less 0.46 with 0.010 is −0.05 with √(0.005² + 0.010²)
  // = 0.01118; −0.05 / 0.46 = −10.87 %. Fe: below 30 ppm went in, so 15 to 45 ppm were taken up. Of O the certificate is silent.
  it('stands beside the certificate, with what changed on the way as a number', () => {
    const rows = analysed();
    expect(rows.map(({ property, certified, deposited, change }) => [property, certified, deposited, change])).toEqual([
      [
        'Zn /%',
        '0.460 (0.010)',
        '0.4100 (0.0050); mean of 2 values, L-1-W1, L-1-W2',
        '−0.050 (0.011), −10.87 %: lost on the way',
      ],
      ['Fe /ppm', 'between 0 and 30', '45; 1 value, L-1-W1', 'between 15 and 45: taken up on the way'],
      ['O /%', 'not stated', '0.11; 1 value, L-1-W1', ''],
    ]);
  });

  it('tells no change that its uncertainty may hide', () => {
    const [zinc] = analysed((copy) => {
      copy.receipts.get('R-1').body.certificate.lines[1].uncertainty = '0.03';
    });
    expect(zinc!.change).toContain('not told apart from no change');
  });

  // Two thirds of the charge with 0.46 %, one third with 0.52 %: 0.48 %.
  it('takes the mean of the certificates by the mass that went in', () => {
    const [zinc] = analysed((copy) => {
      const other = structuredClone(copy.receipts.get('R-1'));
      Object.assign(other.body, { receipt: 'R-2' });
      other.body.certificate.lines[1].value = '0.52';
      copy.receipts.set('R-2', other);
      copy.powderStates.get('PS-1').body.inputs = [
        { receipt: 'R-1', massG: '400' },
        { receipt: 'R-2', massG: '200' },
      ];
    });
    expect(zinc!.certified).toMatch(/^0\.48/);
  });
});

describe('deposited metal of which no coupon is analysed', () => {
  let signed: Facts;
  beforeAll(() => {
    signed = signedFacts(facts);
  });
  const told = (change: (shown: Editable, copy: Editable) => void = () => {}) =>
    depositedRows(
      edited(signed, (copy) => {
        const shown = {
          ...{ property: 'Zn', ucum: '[ppm]', change: '-300', standardUncertainty: '50' },
          ...{ analysedAt: '2030-12-10', report: 'CH-1', holdsDays: 365 },
        };
        copy.validations.get('PV rev 1').body.depositedMetal = [shown];
        copy.specification.body.depositedMetal = [
          { property: 'Zn', ucum: '%', lower: '0.40', upper: '0.50', validation: 'PV' },
        ];
        copy.receipts.get('R-1').body.certificate.lines[1].uncertainty = '0.010';
        change(shown, copy);
      }),
    );

  // 0.46 with 0.010 less 0.030 with 0.005 is 0.43 with √(0.010² + 0.005²) = 0.01118; −0.03 / 0.46 = −6.522 %.
  it('follows from its certificates and the validation, which is cited with its age', () => {
    expect(told()).toEqual([
      {
        property: 'Zn /%',
        build: 'M1-101',
        certified: '0.460 (0.010)',
        deposited:
          '0.430 (0.011); no coupon analysed: PV rev 1, report CH-1 of 2030-12-10, 83 of 365 days old when the chamber closed',
        change: '−0.0300 (0.0050), −6.522 %: lost on the way',
      },
    ]);
  });

  it('lies between two ends where the certificate gives a bound, and is not known where the interval is over', () => {
    const [bound] = told((_, copy) => {
      copy.receipts.get('R-1').body.certificate.lines[1].value = '<0.46';
    });
    expect(bound).toMatchObject({
      certified: 'between 0 and 0.46',
      deposited: expect.stringMatching(/^between −0\.03 and 0\.43 \(0\.0050\);/),
    });
    const [over] = told((shown) => {
      shown.holdsDays = 82;
    });
    expect(over).toMatchObject({ deposited: 'not known by PV: see the checks', change: '' });
  });
});

describe('what touched a surface', () => {
  const surface = (copy: Editable) => copy.specification.body.characteristics[1];
  const used = (change: (copy: Editable) => void) =>
    edited(facts, (copy) => {
      surface(copy).touchedBy = ['peen'];
      copy.consumables.set('TIP-7', {
        body: {
          ...{ consumable: 'TIP-7', category: 'tip', material: 'zirconia-tip', inUseFrom: '2031-03-01T08:00:00+01:00' },
          made: [{ receipt: 'R-1' }],
        },
      });
      copy.lot.body.builds[0].consumables = [{ consumable: 'TIP-7', step: 'peen', uses: 3 }];
      change(copy);
    });
  const told = (of: Facts) => touchedBy(of, of.specification.body.characteristics[1]!);

  it('is told with its material and its uses, for the steps that are named', () => {
    expect(told(used(() => {}))).toEqual(['tip TIP-7 of zirconia-tip, 3 uses']);
    expect(told(used((copy) => (surface(copy).touchedBy = ['mill'])))).toEqual(['nothing that the lot names']);
    expect(told(facts)).toEqual([]);
  });
});

it('says of each build where its powder went, and what is missing', () => {
  const weighed = (masses: object) =>
    powderBalanceRows(edited(facts, (copy) => Object.assign(copy.lot.body.builds[0].powder[0], masses)))[0];
  expect(weighed({ depositedG: '60', recoveredG: '110', recoveredInto: 'PS-2', wasteG: '8' })).toMatchObject({
    ...{ charged: '180 g', deposited: '60 g', recovered: '110 g into PS-2', waste: '8 g', missing: '2 g (1.1 %)' },
  });
  expect(weighed({})).toMatchObject({ deposited: 'not stated', missing: 'not stated' });
});

describe('what a recipe sets otherwise than the one of the build before', () => {
  const lastBuild = { lot: 'L-0', build: 'M1-100', recipe: 'RC', recipeRevision: 1 };
  const before = (change: (steps: Editable[]) => void, settings = true) =>
    settingsBefore(
      edited(facts, (copy) => {
        const steps = stepSettings(copy.recipes.get('RC rev 2').body);
        change(steps);
        copy.history = {
          format: 1,
          lastBuild: { ...lastBuild, ...(settings ? { settings: steps } : {}) },
          characteristics: [],
        };
      }),
    );

  it('is told setting by setting, in whatever unit it was written', () => {
    const { changes } = before((steps) => {
      steps[0].parameters[0] = { parameter: 'laser power', set: '0.31', ucum: 'kW' };
      steps[1].everyLayers = 4;
      steps[1].parameters = [{ parameter: 'step-over', set: '0.2', ucum: 'mm' }];
    });
    const set = facts.recipes.get('RC rev 2')!.body.zones[0]!.steps[1]!;
    expect(changes.map(({ step, setting, before: old, now }) => [step, setting, old, now])).toEqual([
      ['deposition', 'laser power', '0.31 kW', '300 W'],
      ['peening', 'layers from one to the next', '4', String(set.everyLayers)],
      ['peening', 'force', 'not set', '40 N'],
      ['peening', 'step-over', '0.2 mm', 'not set'],
    ]);
  });

  it('is nothing where all is alike, unknown where it is not in the lot file, and not asked of a first build', () => {
    const alike = before((steps) => {
      steps[0].parameters[0] = { parameter: 'laser power', set: '0.30', ucum: 'kW' };
    });
    expect([alike.changes, alike.says]).toEqual([[], expect.stringContaining('no setting differs')]);
    expect(before(() => {}, false).says).toContain('What it set is not in this lot file.');
    expect(settingsBefore(facts).says).toContain('nothing to compare');
  });
});
