import type { CheckResult } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { signedFacts } from '../support/signed-facts.js';

/** ISO 13485:2016 6.4.2 and 7.5.1. The chamber of the cell closed at 08:00 on 3 March 2031, run by P-OP, for Mg-Zn-Ca. */
const CODES = ['changeover-done', 'line-cleared'];
const [MG, ZN] = ['Mg-Zn-Ca', 'Zn-1Mg'];

const changeover = (code: string, at: string, fromAlloy: string, toAlloy: string) => ({
  ...{ kind: 'changeover', format: 1, changeover: code, machine: 'M1', fromAlloy, toAlloy, at, by: 'P-OP' },
  purge: { massG: '400' },
  cleaned: ['hopper', 'nozzle'],
  verified: { what: 'swab of the hopper (invented)', result: 'passed', by: 'P-QE' },
});

let facts: Facts;
let without: Facts;
beforeAll(async () => {
  without = await factsOf();
  facts = await factsOf(({ documents }) => {
    Object.assign(documents['site/machine.yaml']!, { alloys: [MG, ZN], clearance: 'yes' });
    documents['site/to-zinc.yaml'] = changeover('CO-1', '2031-01-14T07:00:00+01:00', MG, ZN);
    documents['site/back.yaml'] = changeover('CO-2', '2031-01-14T09:00:00+01:00', ZN, MG);
    const lot = Object.values(documents).find(({ kind }) => kind === 'lot')!;
    lot.builds[0].changeover = 'CO-2';
    lot.builds[0].lineClearance = { by: 'P-QE', at: '2031-03-03T07:45:00+01:00' };
  });
});

const named = (checks: readonly CheckResult[], code: string) => checks.find((check) => check.code === code)!;
const checked = (of: Facts, change: (copy: Editable) => void) => assessBothWays(signedFacts(edited(of, change)));
const build = (copy: Editable) => copy.lot.body.builds[0];
const last = (copy: Editable) => copy.changeovers.get('CO-2').body;

it('passes a machine that was changed back and cleared, and pins no changeover but the last', () => {
  expect([...facts.changeovers.keys()]).toEqual(['CO-2']);
  const { checks } = checked(facts, () => {});
  expect(CODES.map((code) => [named(checks, code).outcome, basisWords(named(checks, code))])).toEqual([
    ['passes', 'M1-101: CO-2'],
    ['passes', 'M1-101'],
  ]);
});

it('asks neither where no machine names an alloy or asks for a clearance', () => {
  const { checks } = checked(without, () => {});
  expect(CODES.map((code) => named(checks, code).outcome)).toEqual(Array(2).fill('does not apply'));
});

it.each<[code: string, rule: string, outcome: CheckResult['outcome'], (copy: Editable) => void]>([
  [
    'changeover-done',
    'not the last one',
    'cannot be decided',
    // It names one, and nothing else says what the machine was ready for.
    (copy) => {
      copy.changeovers.clear();
      copy.dossier.pinned = copy.dossier.pinned.filter(({ kind }: Editable) => kind !== 'changeover');
      delete copy.machines.get('M1').body.alloys;
    },
  ],
  ['changeover-done', 'ready for another alloy', 'cannot be decided', (copy) => (last(copy).toAlloy = ZN)],
  ['changeover-done', 'ready for another alloy', 'cannot be decided', (copy) => (copy.family.body.alloy = ZN)],
  [
    'changeover-done',
    'ready for another alloy',
    'cannot be decided',
    // Only what the machine began with is left.
    (copy) => {
      copy.changeovers.clear();
      copy.dossier.pinned = copy.dossier.pinned.filter(({ kind }: Editable) => kind !== 'changeover');
      delete build(copy).changeover;
      copy.machines.get('M1').body.alloys.reverse();
    },
  ],
  ['changeover-done', 'not the last one', 'cannot be decided', (copy) => (build(copy).changeover = 'CO-1')],
  ['changeover-done', 'not the last one', 'cannot be decided', (copy) => (last(copy).at = '2031-03-03T09:00:00+01:00')],
  ['changeover-done', 'not purged', 'cannot be decided', (copy) => delete last(copy).purge],
  ['changeover-done', 'something was left', 'fails', (copy) => (last(copy).verified.result = 'failed')],
  ['line-cleared', 'nobody looked', 'cannot be decided', (copy) => delete build(copy).lineClearance],
  [
    'line-cleared',
    'looked after it closed',
    'cannot be decided',
    (copy) => (build(copy).lineClearance.at = '2031-03-03T08:00:01+01:00'),
  ],
  ['line-cleared', 'by whoever ran it', 'cannot be decided', (copy) => (build(copy).lineClearance.by = 'P-OP')],
])('%s: "%s"', (code, rule, outcome, change) => {
  const { checks, units } = checked(facts, change);
  const found = named(checks, code);
  expect([found.outcome, found.findings.map((one) => one.rule)]).toEqual([outcome, [rule]]);
  const { says, clearedBy } = findingWords(code, found.findings[0]!);
  expect(`${says} ${clearedBy}`).not.toMatch(/undefined|assess the lot again/);
  expect(units.map(({ releasable }) => releasable)).toEqual([false, false]);
});
