import type { CheckResult } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { addLot, type Cell } from '../support/cell.js';
import { addLoads } from '../support/documents/loads.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { signedFacts } from '../support/signed-facts.js';

/** A tip of ceramic that wears: in use since 1 March at 08:00, three uses before the lot and two in its closure of 3 March at 08:00. */
const CHECK = 'consumables-within-limit';

let facts: Facts;
let without: Facts;
beforeAll(async () => {
  without = await factsOf();
  facts = await factsOf(worn);
});

function worn(cell: Cell): void {
  const { documents } = cell;
  documents['site/tip-material.yaml'] = {
    ...{ kind: 'material-specification', format: 1, material: 'zirconia-tip', revision: 1, title: 'Tips of zirconia' },
    ...{ category: 'tool', lines: [{ property: 'hardness', ucum: 'GPa', from: 'certificate' }] },
    inUseLimit: { uses: 5, hours: '48' },
    effectiveFrom: '2031-01-11T00:00:00+01:00',
    approval: { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' },
  };
  documents['site/tips.yaml'] = {
    ...{ kind: 'receipt', format: 1, receipt: 'R-T', supplier: 'S1', material: 'zirconia-tip', category: 'tool' },
    ...{ supplierLot: 'T-1', quantity: { value: '10', ucum: '1' }, receivedAt: '2031-01-12T10:00:00+01:00' },
    ...{ status: 'quarantine' },
  };
  documents['later/tip.yaml'] = {
    ...{ kind: 'consumable', format: 1, consumable: 'TIP-7', category: 'tip', material: 'zirconia-tip' },
    materialSpecification: { material: 'zirconia-tip', revision: 1 },
    ...{ made: [{ receipt: 'R-T', quantity: { value: '1', ucum: '1' } }], machine: 'M1', by: 'P-OP' },
    inUseFrom: '2031-03-01T08:00:00+01:00',
  };
  const used = (lot: string, uses?: number) => {
    documents[`lots/${lot}/lot.yaml`]!.builds[0].consumables = [
      { consumable: 'TIP-7', step: 'peen', ...(uses === undefined ? {} : { uses }) },
    ];
  };
  addLot(cell, 'L-0', 100, '2031-03-02', { rm: 230, thickness: 1.5 });
  // Nothing of the third is measured yet when the lots come in.
  addLot(cell, 'L-2', 102, '2031-03-04', { rm: 230, thickness: 1.5 });
  for (const name of Object.keys(cell.sheets)) if (name.startsWith('lots/L-2/')) delete cell.sheets[name];
  used('L-0', 3);
  used('L-1', 2);
  used('L-2');
}

const named = (checks: readonly CheckResult[]) => checks.find(({ code }) => code === CHECK)!;
const checked = (of: Facts, change: (copy: Editable) => void) => assessBothWays(signedFacts(edited(of, change)));
const tip = (copy: Editable) => copy.consumables.get('TIP-7').body;
const limit = (copy: Editable) => copy.materialSpecifications.get('zirconia-tip rev 1').body.inUseLimit;

it('counts the uses of whatever lots up to its own, and none that came later', () => {
  expect(facts.consumablesUsed.map(({ key, uses }) => [key, uses])).toEqual([
    ['M1-100', 3],
    ['M1-101', 2],
  ]);
  const found = named(checked(facts, () => {}).checks);
  expect([found.outcome, basisWords(found)]).toEqual(['passes', 'TIP-7']);
});

it('asks nothing of a lot that names nothing that wears out', () => {
  expect(without.consumablesUsed).toEqual([]);
  expect(named(checked(without, () => {}).checks).outcome).toBe('does not apply');
});

it.each<[rule: string, says: RegExp, (copy: Editable) => void]>([
  ['used too often', /TIP-7 used in M1-101 had 5 uses .* at most 4 /, (copy) => (limit(copy).uses = 4)],
  ['used too long', /at most 47\.9 h/, (copy) => (limit(copy).hours = '47.9')],
  ['not in use yet', /came into use only at/, (copy) => (tip(copy).inUseFrom = '2031-03-03T08:00:01+01:00')],
  ['on another machine', /TIP-7 used in M1-101 on M1 is mounted or filled on M2/, (copy) => (tip(copy).machine = 'M2')],
  [
    'filled from another receipt',
    /TIP-7 used in M1-101 with gas of receipt R-1 was filled from R-T/,
    (copy) => {
      const [build] = copy.lot.body.builds;
      build.consumables = [];
      build.gas = [{ receipt: 'R-1', bottle: 'TIP-7' }];
    },
  ],
  ['used after its use ended', /taken out of use/, (copy) => (tip(copy).retiredAt = '2031-03-03T07:59:59+01:00')],
])('%s', (rule, says, change) => {
  const { checks, units } = checked(facts, change);
  const { outcome, findings } = named(checks);
  expect([outcome, findings.map((one) => one.rule)]).toEqual(['cannot be decided', [rule]]);
  expect(findingWords(CHECK, findings[0]!).says).toMatch(says);
  expect(units.map(({ releasable }) => releasable)).toEqual([false, false]);
});

it('finds a bath that came into use only after the load in which it was used', async () => {
  const bathed = await factsOf((cell) => {
    addLoads(cell);
    cell.documents['later/bath.yaml'] = {
      ...{ kind: 'consumable', format: 1, consumable: 'BATH-1', category: 'bath', material: 'acid', by: 'P-OP' },
      ...{ made: [{ receipt: 'R-1' }], inUseFrom: '2031-03-01T08:00:00+01:00' },
    };
    const load = Object.values(cell.documents).find(({ kind, step }) => kind === 'process-load' && step === 'clean')!;
    load.consumables = [{ consumable: 'BATH-1' }];
  });
  expect(named(checked(bathed, () => {}).checks).outcome).toBe('passes');
  const { checks } = checked(bathed, (copy) => {
    copy.consumables.get('BATH-1').body.inUseFrom = '2031-03-31T08:00:00+01:00';
  });
  expect(named(checks).findings.map(({ rule }) => rule)).toEqual(['not in use yet']);
});
