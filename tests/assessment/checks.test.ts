// Not quick: it takes a cell in for each way of spoiling it.
import type { Assessment } from '../../src/assessment/assessment.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import { assessmentInWords, reasonsInWords } from '../../src/report/assessment-words.js';
import { type Cell, logText } from '../support/cell.js';
import { factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { decidedByBoth, signedFacts } from '../support/signed-facts.js';

const LOT = 'lots/L-1/lot.yaml';
const LOG = 'lots/L-1/logs/run.csv';
const TENSILE = 'lots/L-1/results/tensile.csv';
const SIZE = 'lots/L-1/results/size.csv';
const DAY = '2031-03-03';

const assessed = async (spoil: (cell: Cell) => void, togetherAt?: string): Promise<Assessment> =>
  assessBothWays(signedFacts(await factsOf(spoil, togetherAt)));

const rulesOf = (assessment: Assessment, check: string): string[] =>
  assessment.checks.find((item) => item.code === check)!.findings.map((finding) => finding.rule);

interface Spoiled {
  readonly what: string;
  readonly spoil: (cell: Cell) => void;
  readonly check: string;
  readonly rule: string;
  /** When site and lot come in, where the site tells of later days than the build. */
  readonly togetherAt?: string;
  readonly outcome: string;
  readonly verdicts: readonly [string, string];
}

const [GOOD, BAD, OPEN] = ['conforms', 'does not conform', 'cannot be decided'];

const SPOILED: Spoiled[] = [
  {
    what: 'a recipe that is effective only after the build',
    spoil: ({ documents }) => {
      documents['site/recipe.yaml']!.effectiveFrom = '2031-03-04T00:00:00+01:00';
    },
    check: 'recipe-in-force',
    rule: 'not yet effective',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'a recipe that nobody approved',
    spoil: ({ documents }) => {
      delete documents['site/recipe.yaml']!.approval;
    },
    check: 'recipe-in-force',
    rule: 'no approval',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'limits that were approved after the build',
    spoil: ({ documents }) => {
      documents['site/specification.yaml']!.approval.at = '2031-03-05T00:00:00+01:00';
    },
    check: 'specification-in-force',
    rule: 'approved after the build',
    togetherAt: '2031-05-01T12:00:00Z',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'powder in quarantine',
    spoil: ({ documents }) => {
      documents['site/receipt.yaml']!.status = 'quarantine';
    },
    check: 'material-accepted',
    rule: 'not accepted',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'powder that had expired',
    spoil: ({ documents }) => {
      documents['site/receipt.yaml']!.expiry = '2031-03-02';
    },
    check: 'material-accepted',
    rule: 'expired',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'a certificate with too much iron: 0.0060 % against 50 ppm',
    spoil: ({ documents }) => {
      documents['site/receipt.yaml']!.certificate.lines[0].value = '0.0060';
    },
    check: 'certificates-within-limits',
    rule: 'outside limits',
    outcome: 'fails',
    verdicts: [BAD!, BAD!],
  },
  {
    what: 'a certificate whose detection limit lies above the limit',
    spoil: ({ documents }) => {
      documents['site/receipt.yaml']!.certificate.lines[0].value = '<0.0060';
    },
    check: 'certificates-within-limits',
    rule: 'not decidable',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'a certificate that lacks a line',
    spoil: ({ documents }) => {
      documents['site/receipt.yaml']!.certificate.lines.pop();
    },
    check: 'certificates-within-limits',
    rule: 'line missing',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'a build without log',
    spoil: (cell) => {
      delete cell.documents[LOT]!.builds[0].log;
      delete cell.files[LOG];
    },
    check: 'log-complete',
    rule: 'no log',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'a log with a gap',
    spoil: ({ files }) => {
      files[LOG] = files[LOG]!.split('\n')
        .filter((_, line) => line < 40 || line > 50)
        .join('\n');
    },
    check: 'log-complete',
    rule: 'gap',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'oxygen above its reject level while one zone of one implant is peened',
    spoil: ({ files }) => {
      files[LOG] = logText(DAY, (_, zone, step, layer) =>
        zone === 'I2-span' && step === 'peen' && layer === 2 ? 120 : 8,
      );
    },
    check: 'log-findings-decided',
    rule: 'excursion',
    outcome: 'fails',
    verdicts: [GOOD!, BAD!],
  },
  {
    what: 'oxygen above its action level in one zone',
    spoil: ({ files }) => {
      files[LOG] = logText(DAY, (_, zone, step, layer) =>
        zone === 'I1-span' && step === 'peen' && layer === 4 ? 60 : 8,
      );
    },
    check: 'log-findings-decided',
    rule: 'excursion',
    outcome: OPEN!,
    verdicts: [OPEN!, GOOD!],
  },
  {
    what: 'a coupon with one value too few',
    spoil: ({ sheets }) => {
      sheets[TENSILE]!.splice(1, 1);
    },
    check: 'results-complete',
    rule: 'result missing',
    outcome: OPEN!,
    verdicts: [OPEN!, GOOD!],
  },
  {
    what: 'an implant for which no coupon stands',
    spoil: ({ documents }) => {
      documents[LOT]!.coupons[1].standsFor = ['L-1-I1'];
    },
    check: 'results-complete',
    rule: 'no specimen',
    outcome: OPEN!,
    verdicts: [GOOD!, OPEN!],
  },
  {
    what: 'a micrometer that was overdue on the day of use',
    spoil: ({ documents }) => {
      documents['site/instruments/gauge.yaml']!.calibrations[0].due = '2031-03-01T08:00:00+01:00';
    },
    check: 'calibration-valid',
    rule: 'overdue at use',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
  {
    what: 'a rig that a later calibration found out of tolerance',
    spoil: ({ documents }) => {
      documents['site/instruments/rig.yaml']!.calibrations.push({
        certificate: 'K-2',
        at: '2031-04-01T08:00:00+02:00',
        due: '2032-04-01T08:00:00+02:00',
        asFound: 'out of tolerance',
        asLeft: 'in tolerance',
        traceableTo: 'invented',
      });
    },
    check: 'calibration-valid',
    rule: 'found out of tolerance later',
    togetherAt: '2031-05-01T12:00:00Z',
    outcome: OPEN!,
    verdicts: [OPEN!, OPEN!],
  },
];

it.each(SPOILED)('$what: $check says "$rule"', async ({ spoil, togetherAt, check, rule, outcome, verdicts }) => {
  const assessment = await assessed(spoil, togetherAt);
  const result = assessment.checks.find((item) => item.code === check)!;
  expect(result.outcome).toBe(outcome);
  expect(result.findings.map((finding) => finding.rule)).toContain(rule);
  expect(assessment.units.map((unit) => unit.verdict)).toEqual(verdicts);
  // Whatever else the spoiled fact touches, no other check may fail for another reason.
  for (const unit of assessment.units.filter((item) => item.verdict !== 'conforms')) {
    expect(unit.why.map((why) => why.check)).toContain(check);
    for (const why of reasonsInWords(assessment.checks, unit.why)) expect(why.clearedBy.length).toBeGreaterThan(10);
  }
});

it('does not check certificates when the specification limits no material', async () => {
  const assessment = await assessed(({ documents }) => {
    documents['site/specification.yaml']!.materials = [];
  });
  expect(assessment.checks.find((check) => check.code === 'certificates-within-limits')!.outcome).toBe(
    'does not apply',
  );
  expect(assessment.units.map((unit) => unit.verdict)).toEqual([GOOD, GOOD]);
});

it('lets an excursion touch only the parts whose zone and layers it covers, coupons included', async () => {
  const assessment = await assessed(({ files }) => {
    files[LOG] = logText(DAY, (_, zone) => (zone === 'W1-span' ? 120 : 8));
  });
  // The coupon is touched and not the implant: its values tell of another history.
  expect(assessment.units.map((unit) => unit.verdict)).toEqual([OPEN, GOOD]);
  expect(rulesOf(assessment, 'coupons-represent')).toContain('excursion of the coupon alone');
});

it('leaves an action finding undecided until two people sign a decision on it, and lets nobody lift a reject finding', async () => {
  const facts = await factsOf(({ files }) => {
    files[LOG] = logText(DAY, (_, zone, step, layer) =>
      zone === 'I1-span' && step === 'peen' && layer === 4 ? 60 : 8,
    );
  });
  const found = facts.logParts.get('M1-101')!.findings.filter((item) => item.level === 'action');
  expect(found.length).toBeGreaterThan(0);
  const verdicts = (...statements: readonly SignedStatement[]) =>
    assessBothWays(signedFacts(facts, ...statements)).units.map((unit) => unit.verdict);
  expect(verdicts()).toEqual([OPEN, GOOD]);
  expect(verdicts(...found.flatMap((item) => decidedByBoth(item.id).slice(0, 1)))).toEqual([OPEN, GOOD]);
  expect(verdicts(...found.flatMap((item) => decidedByBoth(item.id)))).toEqual([GOOD, GOOD]);
  expect(verdicts(...found.flatMap((item) => decidedByBoth(item.id, 'rejected')))).toEqual([BAD, GOOD]);
});

describe('acceptance of values', () => {
  const verdictsOf = async (value: string, uncertainty = '0.004') =>
    (
      await assessed(({ sheets }) => {
        Object.assign(sheets[SIZE]![0]!, { value, standardUncertainty: uncertainty });
      })
    ).units[0]!.verdict;

  // Guard band 1.645 × 0.004 = 0.0066 mm inside 1.45 to 1.55: accept from 1.4566 to 1.5434 (JCGM 106, one-sided 95 %).
  it.each([
    ['1.457', GOOD],
    ['1.456', OPEN],
    ['1.450', OPEN],
    ['1.443', BAD],
    ['1.543', GOOD],
    ['1.545', OPEN],
    ['1.557', BAD],
  ])('guarded rule: %s mm %s', async (value, verdict) => expect(await verdictsOf(value)).toBe(verdict));

  it('leaves a guarded characteristic undecided without uncertainty', async () =>
    expect(await verdictsOf('1.500', '')).toBe(OPEN));

  it('leaves a value undecided that was measured by another method than planned', async () => {
    const assessment = await assessed(({ sheets }) => {
      sheets[SIZE]![0]!.method = 'TM-T';
    });
    expect(assessment.units.map((unit) => unit.verdict)).toEqual([OPEN, GOOD]);
    expect(assessmentInWords(assessment).units[0]!.why[0]!.says).toContain(
      'measured by TM-T revision 1, planned TM-S revision 1',
    );
  });

  it('fails a coupon below its limit for the implant that it stands for alone', async () => {
    const assessment = await assessed(({ sheets }) => {
      sheets[TENSILE]![2]!.value = '214.9';
    });
    expect(assessment.units.map((unit) => unit.verdict)).toEqual([GOOD, BAD]);
    expect(assessmentInWords(assessment).units[1]!.why[0]!.says).toContain('214.9 MPa, misses at least 215 MPa');
  });
});
