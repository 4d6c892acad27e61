// Not quick: it assesses some forty random lots.
import fc from 'fast-check';
import { assess } from '../../src/assessment/assess.js';
import { countedTwice, implantCount, implantFates } from '../../src/assessment/counts.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { Cell } from '../support/cell.js';
import { addLoads } from '../support/documents/loads.js';
import { addMaterials } from '../support/documents/materials.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { signedFacts } from '../support/signed-facts.js';

/** Sterile implants that were cleaned, packed and sterilised in loads, with labels that were read; what wears out has its limits. */
let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => {
    addLoads(cell);
    addMaterials(cell);
    addWear(cell);
    cell.documents['lots/L-1/lot.yaml']!.labels.read = ['L-1-I1', 'L-1-I2'];
  });
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

/**
 * Units that may be distributed: before sterilisation a value that is not there is not due yet, and one that is bad holds a
 * unit at once. A lot file that lacks what its own documents name is not assessed at all.
 */
function free(lot: Facts): string[] | undefined {
  try {
    return assess(lot, 'test').units.flatMap(({ serial, releasableFor }) =>
      releasableFor.includes('distribution') ? [serial] : [],
    );
  } catch (error) {
    if (error instanceof TypeError) return undefined;
    throw error;
  }
}

/** Everything of a lot file that speaks for it. Fates, nonconformities and withdrawals speak against it. */
const MAPS = [
  ...['recipes', 'methods', 'validations', 'studies', 'receipts', 'powderStates', 'loads', 'machines', 'instruments'],
  ...['people', 'suppliers', 'resultSets', 'logParts', 'cases', 'materialSpecifications', 'consumables', 'changeovers'],
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

it('lets no unit go because any fact that speaks for it is gone, whatever speaks against it', () => {
  const gone = fc.oneof(
    fc.record({ map: fc.constantFrom(...MAPS), at: fc.nat(30) }),
    fc.record({ list: fc.constantFrom(...Object.keys(LISTS)), at: fc.nat(60) }),
  );
  const seen = new Set<string>();
  const freeOf = onceOf((lot) => free(lot)!);
  fc.assert(
    fc.property(fc.nat(SPOILT.length - 1), fc.array(gone, { minLength: 1, maxLength: 3 }), (how, removals) => {
      const lesser = edited(spoilt(how), (copy) => {
        for (const removal of removals) {
          if ('map' in removal) {
            const keys = [...copy[removal.map].keys()];
            copy[removal.map].delete(keys[removal.at % Math.max(1, keys.length)]);
          } else {
            const list = LISTS[removal.list]!(copy);
            list.splice(removal.at % Math.max(1, list.length), 1);
          }
        }
      });
      const [before, after] = [freeOf(how), free(lesser)];
      seen.add(`${before.length} ${after?.length}`);
      expect(before).toEqual(expect.arrayContaining(after ?? []));
    }),
    { numRuns: 24 },
  );
  // It would hold of nothing if no lot could go, or if no removal kept one back.
  expect([...seen]).toEqual(expect.arrayContaining(['2 0', '0 0']));
});

it('lets no unit go where the tip that it was peened with, or the changeover before it, is in no lot file', () => {
  for (const how of SPOILT.keys()) {
    for (const map of ['consumables', 'changeovers']) {
      const lesser = edited(spoilt(how), (copy) => copy[map].clear());
      expect([how, map, free(lesser) ?? []]).toEqual([how, map, []]);
    }
  }
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
