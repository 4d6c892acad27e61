import fc from 'fast-check';
import { isGroup, judgedKind } from '../../src/assessment/alike-findings.js';
import { assess } from '../../src/assessment/assess.js';
import type { CheckFinding } from '../../src/assessment/assessment.js';
import { logFindingsOf } from '../../src/assessment/log-findings.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { LogFinding } from '../../src/dossier/schema.js';
import { findingSubject } from '../../src/dossier/signable.js';
import { unitStates } from '../../src/lots/unit-states.js';
import { thingText } from '../../src/signing/thing.js';
import { unitObjection } from '../../src/signing/unit-objection.js';
import { addLot, type Cell, logText } from '../support/cell.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { decidedByBoth, signedFacts } from '../support/signed-facts.js';
import { finishLots, refusalOf, SigningCell } from '../support/signing-cell.js';

/**
 * No lot with a failing check can be released without the decision that the check allows. What holds a unit is worked out
 * here by hand from what was planted, not read from the assessment; what lets it go is the rule that every signature of
 * release passes, `unitObjection`.
 */

const UNITS = ['L-1-I1', 'L-1-I2'];
const [FIRST, SECOND] = UNITS as [string, string];
const BUILD = 'M1-101';
const LATE = '2031-03-20T09:00:00+01:00';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf(finishLots);
});

/** One fault with the units that it holds, and what people may do about it. */
interface Fault {
  readonly holds: readonly string[];
  readonly allows: 'nothing' | 'decision' | 'concession';
  readonly change: (copy: Editable) => void;
}

const FATE = { at: '2031-03-05T09:00:00+01:00', by: 'P-AN' };

const strength = ({ results }: Editable): Editable =>
  results.find((row: Editable) => row.specimen === 'L-1-W1' && row.characteristic === 'rm');

const FAULTS: Readonly<Record<string, Fault>> = {
  'nobody approved the recipe': {
    holds: UNITS,
    allows: 'nothing',
    change: ({ recipes, dossier }) => {
      delete recipes.get('RC rev 2').body.approval;
      dossier.pinned = dossier.pinned.filter((item: Editable) => item.kind !== 'recipe');
    },
  },
  'both implants were measured by what destroys them, and nobody says that they are gone': {
    holds: UNITS,
    allows: 'nothing',
    change: ({ methods }) => {
      methods.get('TM-S rev 1').body.destructive = 'destructive';
    },
  },
  'both implants are used up or kept back': {
    holds: UNITS,
    allows: 'nothing',
    change: ({ lot }) => {
      lot.body.fates = UNITS.map((part, index) => ({ ...FATE, part, as: index === 0 ? 'tested' : 'retained' }));
    },
  },
  'labels are missing': {
    holds: UNITS,
    allows: 'nothing',
    change: ({ lot }) => {
      Object.assign(lot.body.labels, { printed: 3 });
    },
  },
  'limits came after the data': {
    holds: UNITS,
    allows: 'decision',
    change: ({ specification }) => {
      specification.recordedAt = LATE;
    },
  },
  'no log': { holds: UNITS, allows: 'nothing', change: ({ logParts }) => logParts.clear() },
  'a coupon below its limit': {
    holds: [FIRST],
    allows: 'concession',
    change: (copy) => {
      strength(copy).value = '214.9';
    },
  },
  'a value that nobody measured': {
    holds: [FIRST],
    allows: 'concession',
    change: (copy) => copy.results.splice(copy.results.indexOf(strength(copy)), 1),
  },
  'a value of a specimen that no lot has': {
    holds: UNITS,
    allows: 'nothing',
    change: (copy) => copy.results.push({ ...strength(copy), specimen: 'GHOST' }),
  },
  'the gauge of an unknown specimen alone was overdue': {
    holds: UNITS,
    allows: 'nothing',
    change: (copy) => {
      const gauge = copy.instruments.get('I-MIC');
      copy.instruments.set('I-OLD', { ...gauge, body: { ...gauge.body, instrument: 'I-OLD', calibrations: [] } });
      copy.results.push({ ...strength(copy), specimen: 'GHOST', instrument: 'I-OLD' });
    },
  },
  // The step names no load either, which holds everything that went through it.
  'an implant was sterilised without its coupon': {
    holds: UNITS,
    allows: 'nothing',
    change: ({ lot }) => {
      const parts = [FIRST, SECOND, 'L-1-W2'];
      lot.body.steps.push({ step: 'sterilise', at: '2031-03-04T07:00:00+01:00', by: 'P-OP', parts });
    },
  },
  'a build of nobody in which no upkeep is on record': {
    holds: UNITS,
    allows: 'nothing',
    change: ({ lot, machines }) => {
      lot.body.builds.push({ ...lot.body.builds[0], build: 'M2-7', machine: 'M2', run: 7 });
      const machine = machines.get('M1');
      machines.set('M2', { ...machine, body: { ...machine.body, machine: 'M2', upkeep: [] } });
    },
  },
};

const ZONES = ['I1-span', 'I2-span', 'W1-span', 'W2-span', 'chamber', 'i1-span', null] as const;

const logFinding = fc.record({
  level: fc.constantFrom<LogFinding['level']>('alert', 'action', 'reject'),
  rule: fc.constantFrom('excursion', 'step out of order', 'gap', 'unknown zone'),
  zone: fc.constantFrom(...ZONES),
  /** Parts of the cell were built in layers 1 to 4. */
  layer: fc.constantFrom(0, 2, 4, 9, null),
  placed: fc.boolean(),
  decided: fc.constantFrom('nobody', 'half', 'accepted', 'rejected'),
});
type Planted = typeof logFinding extends fc.Arbitrary<infer T> ? T : never;

const lotLike = fc.record({
  faults: fc.uniqueArray(fc.constantFrom(...Object.keys(FAULTS)), { maxLength: 2 }),
  findings: fc.array(logFinding, { maxLength: 3 }),
  decided: fc.constantFrom('nobody', 'half', 'accepted', 'rejected'),
});

const asFinding = ({ level, rule, zone, layer, placed }: Planted, index: number): LogFinding => ({
  id: String(index + 1).repeat(64),
  build: BUILD,
  rule,
  level,
  channel: 'oxygen',
  ucum: '[ppm]',
  startedAt: `2031-03-03T07:00:0${index}.000Z`,
  endedAt: `2031-03-03T07:00:0${index}.500Z`,
  places: placed ? [{ zone, layerFrom: layer, layerTo: layer }] : [],
  steps: [],
  facts: { worst: 950 },
});

/** Parts that a planted finding lies on: by hand, from the zones and layers of the cell. */
function partsOf({ zone, layer, placed }: Planted): readonly string[] {
  const all = ['I1', 'I2', 'W1', 'W2'];
  if (!placed || layer === 0 || layer === 9) return all;
  if (zone === null) return all;
  return all.filter((part) => zone === `${part}-span`).length > 0 ? [zone.slice(0, 2)] : all;
}

/**
 * Units that a planted finding holds as it is decided: through the implant itself, or through its coupon. A coupon alone
 * that failed is once more a question to people: whether it still speaks.
 * @param lifted such questions were decided.
 */
function heldBy(planted: Planted, lifted: boolean): string[] {
  const { level, decided } = planted;
  if (level === 'alert') return [];
  if (level === 'action' && decided === 'accepted') return [];
  const failed = level === 'reject' || decided === 'rejected';
  if (failed && lifted && partsOf(planted).every((part) => part.startsWith('W'))) return [];
  return partsOf(planted).map((part) => `L-1-I${part.at(-1)}`);
}

const signaturesOn = (id: string, decided: Planted['decided']) => {
  if (decided === 'nobody') return [];
  const both = decidedByBoth(id, decided === 'rejected' ? 'rejected' : 'accepted');
  return decided === 'half' ? both.slice(0, 1) : both;
};

const findingsOf = (lot: Facts): CheckFinding[] => assess(lot, 'test').checks.flatMap(({ findings }) => findings);

function released(lot: Facts): string[] {
  const assessment = assess(lot, 'test');
  const open = unitStates(UNITS, [], []);
  return UNITS.filter(
    (serial) =>
      unitObjection({
        lot: lot.lot.body,
        assessment,
        states: open,
        meaning: 'released',
        step: 'distribution',
        units: [serial],
      }) === undefined,
  );
}

it('releases nothing that a failing check or an undecided log finding holds, by unit or by lot', () => {
  let letGo = 0;
  let kept = 0;
  fc.assert(
    fc.property(lotLike, ({ faults, findings, decided }) => {
      const planted = edited(facts, (copy) => {
        copy.logParts.get(BUILD).findings = findings.map(asFinding);
        for (const name of faults) FAULTS[name]!.change(copy);
      });
      const ofLog = findings.flatMap((finding, index) => signaturesOn(asFinding(finding, index).id, finding.decided));
      const before = signedFacts(planted, ...ofLog);
      // Whatever a check lets people decide is decided alike; what it does not allow is signed too, and must not count.
      const onChecks = findingsOf(before).flatMap(({ id }) => signaturesOn(id, decided));
      const lot = signedFacts(planted, ...ofLog, ...onChecks);
      const lifted = decided === 'accepted';
      const noLog = faults.includes('no log');
      const held = [
        ...faults.flatMap((name) => (FAULTS[name]!.allows === 'decision' && lifted ? [] : FAULTS[name]!.holds)),
        ...(noLog ? [] : findings).flatMap((finding) => heldBy(finding, lifted)),
      ];
      const gone = released(lot);
      expect(gone).toEqual(UNITS.filter((serial) => !held.includes(serial)));
      letGo += gone.length;
      kept += UNITS.length - gone.length;
      // The same from the other side: a check that fails names units, and none of them went without a decision.
      for (const { outcome, findings: said } of assess(lot, 'test').checks) {
        if (outcome === 'fails' || outcome === 'cannot be decided') {
          for (const { units, mayBeDecided, decision } of said) {
            expect(units.length).toBeGreaterThan(0);
            if (mayBeDecided !== 'decision' || decision !== 'accepted') {
              expect(units.filter((unit) => gone.includes(unit))).toEqual([]);
            }
          }
        }
      }
    }),
    { numRuns: 300 },
  );
  // Neither side of the rule went untried.
  expect(Math.min(letGo, kept)).toBeGreaterThan(50);
});

/** One lot as its folder may come in. Zones are those of the cell; every part has layers 1 to 4. */
const lotFolder = fc.record({
  peak: fc.record({
    zone: fc.constantFrom('I1-span', 'I2-span', 'W1-span', 'chamber'),
    /** Levels of the recipe for oxygen: alert above 20 ppm, action above 50, reject above 100. */
    ppm: fc.constantFrom(8, 30, 60, 120),
  }),
  firstThicknessMm: fc.constantFrom('1.500', '1.700'),
  firstIs: fc.constantFrom('there', 'retained'),
  decided: fc.constantFrom('nobody', 'half', 'accepted'),
});
type LotFolder = typeof lotFolder extends fc.Arbitrary<infer T> ? T : never;

function addRandomLot(cell: Cell, code: string, run: number, { peak, firstThicknessMm, firstIs }: LotFolder): void {
  const day = '2031-03-03';
  addLot(cell, code, run, day, { rm: 230, thickness: 1.5 });
  const lot = cell.documents[`lots/${code}/lot.yaml`]!;
  if (firstIs === 'retained') lot.fates = [{ ...FATE, part: `${code}-I1`, as: firstIs }];
  cell.sheets[`lots/${code}/results/size.csv`]![0]!.value = firstThicknessMm;
  const inChamber = peak.zone === 'chamber';
  let log = logText(day, (_, zone) => (zone === peak.zone ? peak.ppm : 8));
  for (let second = 1; inChamber && second <= 20; second++) {
    log += `${new Date(Date.parse(`${day}T08:02:00+01:00`) + second * 1000).toISOString()},0,chamber,purge,${peak.ppm}\n`;
  }
  if (inChamber) lot.builds[0].openedAt = `${day}T08:02:20+01:00`;
  cell.files[`lots/${code}/logs/run.csv`] = log;
}

/** Numbers of the implants that the folder holds, by hand. A chamber that no part knows is itself an action finding. */
function heldIn({ peak, firstThicknessMm, firstIs, decided }: LotFolder): number[] {
  const level = peak.ppm > 100 ? 'reject' : peak.ppm > 50 || peak.zone === 'chamber' ? 'action' : 'none';
  const touched = peak.zone === 'chamber' ? [1, 2] : [Number(peak.zone[1])];
  const held = level === 'reject' || (level === 'action' && decided !== 'accepted') ? touched : [];
  return [...held, ...(firstThicknessMm === '1.700' || firstIs === 'retained' ? [1] : [])];
}

it('releases in a whole cell, through intake, scan, decisions and review, what nothing holds and nothing else', async () => {
  await fc.assert(
    fc.asyncProperty(fc.array(lotFolder, { minLength: 6, maxLength: 6 }), async (folders) => {
      const lots = folders.map((folder, index) => ({ folder, code: `L-${index + 20}`, run: index + 120 }));
      const cell = await SigningCell.open((what) => {
        for (const { code, run, folder } of lots) addRandomLot(what, code, run, folder);
      });
      try {
        for (const { code, folder } of lots) {
          const { facts: taken } = await cell.services.assessor.assess(code, 'local:tester');
          const findings = logFindingsOf(taken)
            .filter(({ level }) => level === 'action')
            .map((one) =>
              thingText(findingSubject(judgedKind(one), isGroup(one) ? `${code}:${one.id}` : one.id, one.id)),
            );
          if (findings.length > 0 && folder.decided !== 'nobody') await cell.decide('P-PE', findings);
          if (findings.length > 0 && folder.decided === 'accepted') await cell.decide('P-QE', findings);
          await cell.review(code);
          for (const n of [1, 2]) {
            const act = cell.release(code, [`${code}-I${n}`]);
            if (heldIn(folder).includes(n))
              expect(await refusalOf(act)).toMatch(/may not be released|not there to be released/);
            else await act;
          }
        }
      } finally {
        await cell.close();
      }
    }),
    { numRuns: process.env.LOTWRIGHT_TEST_LONG ? 20 : 1, endOnFailure: true },
  );
});
