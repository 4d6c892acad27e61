import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import type { LotStep } from '../../kinds/lot-after-build.js';
import { hadLeft } from '../../kinds/split-lot.js';
import { type JudgedFinding, judgedKind } from '../alike-findings.js';
import { type CouponUse, couponUses } from '../coupon-uses.js';
import { couponGaps, coverageOf } from '../coverage.js';
import { decisionOn } from '../finding-decisions.js';
import { countOf, logFindingsOf } from '../log-findings.js';
import { wentThrough } from '../reworks.js';
import { currentResults } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Standing = Pick<CouponUse, 'coupon' | 'implant'>;

/** Every coupon with every implant for which the lot file lets it stand, whether or not anything is measured on it. */
const standings = ({ lot }: Facts): Standing[] =>
  lot.body.coupons.flatMap((coupon) =>
    lot.body.implants.filter(({ serial }) => coupon.standsFor.includes(serial)).map((implant) => ({ coupon, implant })),
  );

/** The same load, or where none is named the same time. */
const isSameStep = (one: LotStep, other: LotStep): boolean =>
  one.step === other.step && one.load === other.load && (one.load !== undefined || one.at === other.at);

/**
 * Steps after the build that only one of the two went through, a sterile load above all. What a rework does to a coupon that
 * did not share it says its instruction (docs/trade.md 4.8).
 */
function stepFindings(facts: Facts, { coupon, implant }: CouponUse): FindingDraft[] {
  const { steps } = facts.lot.body;
  /** Of a lot that was split, the same step is told by both lots, each for its own parts. */
  const shared = (one: LotStep, part: string) =>
    steps.some((other) => isSameStep(one, other) && wentThrough(other, part));
  return steps
    .filter(({ instruction, step }) => instruction === undefined || step === 'sterilise')
    .filter(({ at }) => !hadLeft(facts.lot.body, implant.serial, at))
    .filter((step) => shared(step, coupon.coupon) !== shared(step, implant.serial))
    .filter((step, index, all) => all.findIndex((other) => isSameStep(step, other)) === index)
    .map((step) => {
      const [did, didNot] = shared(step, coupon.coupon)
        ? [coupon.coupon, implant.serial]
        : [implant.serial, coupon.coupon];
      return {
        rule: step.step === 'sterilise' ? 'not of the same sterile load' : 'not the same step after the build',
        subjects: [subject('coupon', coupon.coupon), subject('implant', implant.serial)],
        facts: {
          coupon: coupon.coupon,
          implant: implant.serial,
          step: step.step,
          at: step.at,
          load: step.load ?? '',
          did,
          didNot,
        },
        effect: 'cannot be decided' as const,
        // A sterile load is never conceded (docs/trade.md 2.13).
        mayBeDecided: step.step === 'sterilise' ? ('no' as const) : ('concession' as const),
        units: [implant.serial],
      };
    });
}

/** Who accepted an excursion had before them which coupons do not speak for what it touched: nothing is asked twice. */
const undecided = (facts: Facts, findings: readonly JudgedFinding[]): JudgedFinding[] =>
  findings.filter((finding) => finding.level === 'reject' || decisionOn(facts, finding)?.outcome !== 'accepted');

/** Layers of the implant that an excursion touched and the coupon did not share. */
function gapFindings(facts: Facts, { coupon, implant }: CouponUse, findings: readonly JudgedFinding[]): FindingDraft[] {
  return couponGaps(facts, undecided(facts, findings), coupon.coupon, implant.serial).map(({ finding, layers }) => {
    return {
      rule: 'outside the layers of an excursion',
      subjects: [
        subject('coupon', coupon.coupon),
        subject('implant', implant.serial),
        subject(judgedKind(finding), finding.id),
      ],
      facts: {
        coupon: coupon.coupon,
        implant: implant.serial,
        layers: canonicalJson(layers),
        finding: finding.id,
      },
      effect: 'cannot be decided' as const,
      mayBeDecided: 'decision' as const,
      units: [implant.serial],
    };
  });
}

/**
 * An excursion of the coupon alone: its values tell of another history than the implant has. Asked of a spare too, which
 * may be tested yet: nobody else asks about a coupon that failed.
 */
function ownExcursions(
  facts: Facts,
  { coupon, implant }: Standing,
  findings: readonly JudgedFinding[],
): FindingDraft[] {
  return undecided(facts, findings)
    .filter((finding) => finding.level !== 'alert')
    .filter((finding) => {
      const { implants, coupons } = coverageOf(facts, finding);
      return coupons.includes(coupon.coupon) && !implants.includes(implant.serial);
    })
    .map((finding) => ({
      rule: 'excursion of the coupon alone',
      subjects: [
        subject('coupon', coupon.coupon),
        subject('implant', implant.serial),
        subject(judgedKind(finding), finding.id),
      ],
      facts: { coupon: coupon.coupon, implant: implant.serial, finding: finding.id },
      effect: 'cannot be decided' as const,
      mayBeDecided: 'decision' as const,
      units: [implant.serial],
    }));
}

export const couponsRepresent: Check = {
  code: 'coupons-represent',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6, 8.2.6; FDA additive manufacturing guidance (2017), test coupons',
  moment: 'release',
  run(facts) {
    const tested = new Set(currentResults(facts).map(({ specimen }) => specimen));
    // A spare coupon speaks for nobody until it is tested.
    const uses = couponUses(facts).filter(({ coupon }) => coupon.use !== 'spare' || tested.has(coupon.coupon));
    const standing = standings(facts);
    const findings = logFindingsOf(facts);
    return {
      findings: [
        ...uses.flatMap((use) => [...stepFindings(facts, use), ...gapFindings(facts, use, findings)]),
        ...standing.flatMap((one) => ownExcursions(facts, one, findings)),
      ],
      basis: { steps: String(facts.lot.body.steps.length), logFindings: String(countOf(findings)) },
      doesNotApply: standing.length === 0,
    };
  },
};
