// Not quick: it assesses some forty random lots.
import fc from 'fast-check';
import { assess } from '../../src/assessment/assess.js';
import { countedTwice, implantCount, implantFates } from '../../src/assessment/counts.js';
import type { Facts } from '../../src/dossier/facts.js';
import { demandNamed } from '../../src/dossier/named-facts.js';
import type { Pinned } from '../../src/dossier/schema.js';
import type { Cell } from '../support/cell.js';
import { addDesigns } from '../support/documents/designs.js';
import { addExposures } from '../support/documents/exposures.js';
import { addLoads } from '../support/documents/loads.js';
import { addMaterials } from '../support/documents/materials.js';
import { freeIn, hidingKinds, speakingIn, takenApart, tryLess } from '../support/less-told.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { listed, partTexts } from '../support/note-files.js';
import { SIGNED_AT, signedFacts } from '../support/signed-facts.js';

/** Sterile implants that were cleaned, packed and sterilised in loads, with labels that were read; what wears out has its limits. */
let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => {
    addLoads(cell);
    addMaterials(cell);
    addWear(cell);
    addDesigns(cell);
    addExposures(cell);
    cell.documents['lots/L-1/lot.yaml']!.labels.read = ['L-1-I1', 'L-1-I2'];
  }, '2031-12-01T12:00:00Z');
  // Site and lot came in at one time, since exposures go on long after; the limits were there before any data.
  const recorded = edited(facts, ({ specification }) => {
    specification.recordedAt = SIGNED_AT;
  });
  facts = listed(signedFacts(recorded));
});

/** A tip that is used twice, and a machine that was changed over to the alloy. */
function addWear({ documents }: Cell): void {
  documents['site/tip-material.yaml'] = {
    ...{ kind: 'material-specification', format: 1, material: 'zirconia-tip', revision: 1, title: 'Tips of zirconia' },
    ...{ category: 'tool', lines: [{ property: 'hardness', ucum: 'GPa', from: 'certificate' }] },
    ...{ inUseLimit: { uses: 2 }, effectiveFrom: '2031-01-11T00:00:00+01:00' },
    approval: { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' },
  };
  documents['site/tips.yaml'] = {
    ...{ kind: 'receipt', format: 1, receipt: 'R-T', supplier: 'S1', material: 'zirconia-tip', category: 'tool' },
    ...{ supplierLot: 'T-1', receivedAt: '2031-01-12T10:00:00+01:00', status: 'quarantine' },
  };
  documents['site/tip.yaml'] = {
    ...{ kind: 'consumable', format: 1, consumable: 'TIP-7', category: 'tip', material: 'zirconia-tip', machine: 'M1' },
    materialSpecification: { material: 'zirconia-tip', revision: 1 },
    ...{ made: [{ receipt: 'R-T' }], by: 'P-OP', inUseFrom: '2031-01-14T08:00:00+01:00' },
  };
  documents['site/changeover.yaml'] = {
    ...{ kind: 'changeover', format: 1, changeover: 'CO-1', machine: 'M1', fromAlloy: 'Zn-1Mg', toAlloy: 'Mg-Zn-Ca' },
    ...{ at: '2031-01-14T07:00:00+01:00', by: 'P-OP', purge: { massG: '400' }, cleaned: ['hopper'] },
    verified: { what: 'swab of the hopper (invented)', result: 'passed', by: 'P-QE' },
  };
  Object.assign(documents['lots/L-1/lot.yaml']!.builds[0], {
    consumables: [{ consumable: 'TIP-7', step: 'peen', uses: 2 }],
    changeover: 'CO-1',
  });
}

/** Whatever comes in an order that says nothing. */
const MAPS = [
  ...['recipes', 'methods', 'validations', 'studies', 'receipts', 'powderStates', 'loads', 'machines', 'instruments'],
  ...['people', 'suppliers', 'resultSets', 'logParts', 'cases', 'materialSpecifications', 'consumables', 'changeovers'],
  ...['exposures', 'placeLogs', 'places', 'reworkInstructions', 'riskBuilds'],
] as const;
const LISTS: Readonly<Record<string, (copy: Editable) => unknown[]>> = {
  values: ({ results }) => results,
  steps: ({ lot }) => lot.body.steps,
  coupons: ({ lot }) => lot.body.coupons,
  powder: ({ lot }) => lot.body.builds[0].powder,
  'powder tests': ({ powderStates }) => powderStates.get('PS-1')?.body.tests ?? [],
  'codes read': ({ lot }) => lot.body.labels.read,
  signatures: (copy) => copy.signatures,
};

const SPOILT: readonly ((copy: Editable) => void)[] = [
  () => {},
  ({ results }) => {
    results[0].value = '1';
  },
  ({ loads }) => {
    loads.get('ST-1').body.indicators[0].result = 'failed';
  },
  ({ lot }) => {
    lot.body.labels.printed = 3;
  },
  ({ receipts }) => {
    receipts.get('R-1').body.labelLot = 'another lot';
  },
  ({ lot }) => {
    lot.body.builds[0].powder[0].wasteG = '0';
  },
  ({ loads }) => {
    loads.get('PA-1').body.cycle[0].value = '151';
  },
  ({ materialSpecifications }) => {
    materialSpecifications.get('zirconia-tip rev 1').body.inUseLimit = { uses: 1 };
  },
  ({ consumables }) => {
    consumables.get('TIP-7').body.retiredAt = '2031-03-02T08:00:00+01:00';
  },
  ({ changeovers }) => {
    changeovers.get('CO-1').body.verified.result = 'failed';
  },
];

/** Each is spoilt and assessed once, for all the random lots that come from it. */
const known = new Map<number, Facts>();
const spoilt = (how: number): Facts => {
  const found = known.get(how) ?? signedFacts(edited(facts, SPOILT[how]!));
  known.set(how, found);
  return found;
};
const onceOf = <T>(of: (lot: Facts) => T): ((how: number) => T) => {
  const answers = new Map<number, T>();
  return (how) => {
    const answer = answers.get(how) ?? of(spoilt(how));
    answers.set(how, answer);
    return answer;
  };
};

it('lets no unit go because anything that speaks for it is gone, whatever speaks against it', () => {
  const texts = partTexts(facts);
  const lots = new Map([['L-1', takenApart(facts.dossier, ({ name }) => texts.get(name)!)]]);
  const kinds = new Set([...speakingIn(lots.get('L-1')!).keys()].map((sort) => sort.split(' ')[0]));
  expect([...kinds]).toEqual(
    expect.arrayContaining([
      'exposure',
      'software',
      'design-acceptance',
      'consumable',
      'changeover',
      'route-permission',
    ]),
  );
  expect(freeIn(lots.get('L-1')!)?.free).toHaveLength(4);
  const [runs, most] = process.env.LOTWRIGHT_TEST_LONG ? [400, 4] : [12, 3];
  expect([...tryLess(lots, runs, most)]).toEqual(expect.arrayContaining(['true true', 'true refused']));
});

(process.env.LOTWRIGHT_TEST_LONG ? it : it.skip)(
  'hides by no kind of document that is gone that a statement is not there',
  () => {
    const texts = partTexts(facts);
    expect(hidingKinds(takenApart(facts.dossier, ({ name }) => texts.get(name)!))).toEqual([]);
  },
);

it('is no whole lot file without any document that the lot, what tells of it, or a result names', () => {
  const lacks = (item: Pinned): string | null => {
    try {
      demandNamed({ ...facts, pinned: facts.pinned.filter((one) => one !== item) });
      return null;
    } catch (error) {
      return (error as Error).message;
    }
  };
  // Without the document of the lot nothing is read at all.
  const documents = facts.pinned.filter(({ kind }) => kind !== 'lot');
  const told = documents.map((item) => ({ item, says: lacks(item) }));
  for (const { item, says } of told)
    if (says !== null && item.kind !== 'result-set') expect(says).toContain(`lacks ${item.kind} ${item.key}`);
  const kindsOf = (isNamed: boolean) => [
    ...new Set(told.flatMap(({ item, says }) => ((says !== null) === isNamed ? [item.kind] : []))),
  ];
  const [named, others] = [kindsOf(true), kindsOf(false).sort()];
  expect(named).toEqual(
    expect.arrayContaining(['consumable', 'instrument', 'method', 'person', 'process-load', 'receipt']),
  );
  expect(others).toEqual(['exposure', 'route-permission']);
  // What nobody names is asked for by checks.
  const texts = partTexts(facts);
  for (const kind of others) {
    const pinned = facts.dossier.pinned.filter((one) => one.kind !== kind);
    const less = takenApart({ ...facts.dossier, pinned }, ({ name }) => texts.get(name)!);
    expect([kind, freeIn(less)?.free.filter((one) => one.endsWith('distribution'))]).toEqual([kind, []]);
  }
  expect(() => demandNamed({ ...facts, cases: new Map(), dossier: { ...facts.dossier, parts: [] } })).toThrow(
    /lacks the part of case/,
  );
});

it('says the same in whatever order facts come', () => {
  const said = (of: Facts) => {
    const { checks, units } = assess(of, 'test');
    return {
      checks: checks.map(({ code, outcome }) => [code, outcome]),
      units: units.map(({ serial, verdict, releasableFor }) => [serial, verdict, releasableFor]),
    };
  };
  const saidOf = onceOf(said);
  fc.assert(
    fc.property(fc.nat(SPOILT.length - 1), fc.infiniteStream(fc.nat(1000)), (how, keys) => {
      const shuffled = edited(spoilt(how), (copy) => {
        const anew = <T>(list: readonly T[]): T[] =>
          list
            .map((item) => ({ item, key: keys.next().value as number }))
            .sort((a, b) => a.key - b.key)
            .map(({ item }) => item);
        for (const map of [...MAPS, 'caseParts']) copy[map] = new Map(anew([...copy[map]]));
        for (const listOf of Object.values(LISTS)) {
          const list = listOf(copy);
          list.splice(0, list.length, ...anew(list));
        }
      });
      expect(said(shuffled)).toEqual(saidOf(how));
    }),
    { numRuns: 10 },
  );
});

it('counts every implant that was made once, and names those of which two things are said', () => {
  const GONE = ['tested', 'retained', 'scrapped'] as const;
  const unit = fc.record({
    isPlanned: fc.boolean(),
    fate: fc.option(fc.constantFrom(...GONE)),
    decided: fc.constantFrom('open', 'sterilisation', 'distribution', 'rejected'),
  });
  fc.assert(
    fc.property(fc.array(unit, { maxLength: 12 }), (units) => {
      const named = units.map((one, index) => ({ ...one, serial: `I-${index}` }));
      const lot = {
        builds: [{ build: 'B' }, { build: 'P', state: 'planned' }],
        implants: named.map(({ serial, isPlanned }) => ({ serial, build: isPlanned ? 'P' : 'B' })),
        fates: named.flatMap(({ serial, fate }) => (fate === null ? [] : [{ part: serial, as: fate }])),
      } as unknown as Parameters<typeof implantCount>[0];
      const made = named.filter(({ isPlanned }) => !isPlanned);
      const of = (decided: string) => made.filter((one) => one.decided === decided).map(({ serial }) => serial);
      const line = implantFates(lot, {
        released: { sterilisation: of('sterilisation'), distribution: of('distribution') },
        rejected: of('rejected'),
      });
      const torn = made.filter(
        ({ fate, decided }) => fate !== null && (decided === 'sterilisation' || decided === 'distribution'),
      );
      expect(implantCount(lot)).toMatchObject({ total: made.length, sum: made.length });
      expect(line).toMatchObject({ total: made.length, sum: made.length + torn.length });
      expect(countedTwice(line).map(({ serial }) => serial)).toEqual(
        expect.arrayContaining(torn.map(({ serial }) => serial)),
      );
      expect(countedTwice(line)).toHaveLength(torn.length);
    }),
  );
});
