import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts, Recorded } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import { closuresOf } from '../../kinds/build-chain.js';
import type { EquivalenceStudy } from '../../kinds/equivalence-study.js';
import type { Implant } from '../../kinds/lot.js';
import type { ClaimNote } from '../assessment.js';
import { type CouponUse, couponUses } from '../coupon-uses.js';
import { approvalOf, isGood, standingOf } from '../signed.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Trouble = Pick<FindingDraft, 'rule' | 'facts'>;

/** What makes coupon and implant another history: closures, recipe, zones. */
function historyTroubles({ coupon, implant, items }: CouponUse, facts: Facts): Trouble[] {
  const both = { coupon: coupon.coupon, implant: implant.serial };
  const [own, other] = [closuresOf(coupon).sort(), closuresOf(implant).sort()];
  const found: Trouble[] = [];
  if (own.join(' ') !== other.join(' ')) {
    found.push({
      rule: 'not from the same builds',
      facts: { ...both, couponBuilds: own.join(', '), implantBuilds: other.join(', ') },
    });
    const states = (builds: readonly string[]) => powderStates(facts, builds);
    if (states(own) !== states(other)) {
      found.push({
        rule: 'not of the same powder state',
        facts: { ...both, couponPowder: states(own), implantPowder: states(other) },
      });
    }
  } else if (furtherSteps(coupon) !== furtherSteps(implant)) {
    const [ownSteps, otherSteps] = [furtherSteps(coupon), furtherSteps(implant)];
    found.push({
      rule: 'not the same steps in a further closure',
      facts: { ...both, couponSteps: ownSteps, implantSteps: otherSteps },
    });
  }
  const recipes = [coupon.recipe, implant.recipe].map(({ recipe, revision }) => revisionKey(recipe, revision));
  if (recipes[0] !== recipes[1]) {
    found.push({
      rule: 'not by the same recipe',
      facts: { ...both, couponRecipe: recipes[0]!, implantRecipe: recipes[1]! },
    });
    return found;
  }
  const zones = facts.recipes.get(recipes[0]!)!.body.zones;
  for (const zoneClass of new Set(items.flatMap((item) => item.zoneClass ?? []))) {
    const ofClass = zones.filter((zone) => zone.class === zoneClass).map(({ zone }) => zone);
    const shared = ofClass.filter((zone) =>
      [coupon, implant].every((part) => part.zones.some((at) => at.recipeZone === zone)),
    );
    if (shared.length > 0) continue;
    found.push({
      rule: 'no recipe zone in common',
      facts: { ...both, zoneClass },
    });
  }
  return found;
}

/** Steps in further closures, comparable: a list of closure, steps and recipe. */
const furtherSteps = ({ alsoIn = [] }: Pick<Implant, 'alsoIn'>): string =>
  canonicalJson(
    alsoIn
      .map(({ build, steps, recipe }) => ({
        build,
        steps: [...steps].sort(),
        recipe: recipe === undefined ? '' : revisionKey(recipe.recipe, recipe.revision),
      }))
      .sort((a, b) => (canonicalJson(a) < canonicalJson(b) ? -1 : 1)),
  );

function powderStates(facts: Facts, builds: readonly string[]): string {
  const states = facts.lot.body.builds
    .filter(({ build }) => builds.includes(build))
    .flatMap(({ powder }) => powder.map(({ state }) => state));
  return [...new Set(states)].sort().join(', ');
}

/** What the equivalence study must cover for the pair. */
function studyTroubles(facts: Facts, use: CouponUse, study: Recorded<EquivalenceStudy>): Trouble[] {
  const { coupon, implant, items } = use;
  const { body } = study;
  const name = revisionKey(body.study, body.revision);
  const named = { coupon: coupon.coupon, implant: implant.serial, study: name };
  const build = facts.lot.body.builds.find((item) => item.build === coupon.build)!;
  const found: Trouble[] = [];
  const lacks = (rule: string, more: FindingDraft['facts']) => found.push({ rule, facts: { ...named, ...more } });
  const standing = standingOf(
    facts,
    revisionSubject({ ...study, kind: 'equivalence-study', key: body.study }),
    body.approval,
  );
  if (!isGood(standing)) lacks('study not approved', {});
  const over = body.validUntil !== undefined && isAfter(build.closedAt, body.validUntil);
  if (isAfter(body.validFrom, build.closedAt) || over) {
    lacks('study not valid on the build date', {
      from: body.validFrom,
      until: body.validUntil ?? '',
      build: build.build,
      closedAt: build.closedAt,
    });
  }
  const recipe = facts.recipes.get(revisionKey(coupon.recipe.recipe, coupon.recipe.revision))!.body;
  if (body.machine !== build.machine || !body.recipeGroups.includes(recipe.group)) {
    lacks('process not in the study', {
      recipeGroup: recipe.group,
      machine: build.machine,
    });
  }
  for (const item of items) {
    if (!body.characteristics.includes(item.characteristic)) {
      lacks('characteristic not in the study', {
        characteristic: item.characteristic,
        title: item.title,
      });
    }
    if (item.zoneClass !== undefined && !body.zoneClasses.includes(item.zoneClass)) {
      lacks('zone class not in the study', {
        zoneClass: item.zoneClass,
      });
    }
  }
  for (const part of [
    { code: coupon.coupon, ...coupon },
    { code: implant.serial, ...implant },
  ]) {
    for (const [what, asked, is] of [
      ['position', body.positions, part.position],
      ['orientation', body.orientations, part.orientation],
    ] as const) {
      if (asked.length === 0 || (is !== undefined && asked.includes(is))) continue;
      lacks(`${what} not in the study`, { part: part.code, covered: asked.join(', '), [what]: is ?? '' });
    }
  }
  return found;
}

function troublesOf(facts: Facts, use: CouponUse): Trouble[] {
  const { coupon, implant } = use;
  const history = historyTroubles(use, facts);
  const study = coupon.study && facts.studies.get(revisionKey(coupon.study.study, coupon.study.revision));
  if (study) return [...history, ...studyTroubles(facts, use, study)];
  return [
    ...history,
    {
      rule: 'no equivalence study',
      facts: { coupon: coupon.coupon, implant: implant.serial },
    },
  ];
}

function findingsOf(facts: Facts, use: CouponUse): FindingDraft[] {
  const { coupon, implant } = use;
  return troublesOf(facts, use).map((trouble) => ({
    ...trouble,
    subjects: [subject('coupon', coupon.coupon), subject('implant', implant.serial)],
    effect: 'cannot be decided',
    mayBeDecided: 'concession',
    units: [implant.serial],
  }));
}

/** Approved studies that the coupons rest on. */
function studyNotes(facts: Facts): ClaimNote[] {
  return [...facts.studies.values()].flatMap((study) => {
    const { study: code, revision, approval } = study.body;
    const standing = standingOf(facts, revisionSubject({ ...study, kind: 'equivalence-study', key: code }), approval);
    return isGood(standing) ? [approvalOf('equivalence-study', revisionKey(code, revision), standing)] : [];
  });
}

export const couponsPlanned: Check = {
  code: 'coupons-planned',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6, 8.2.6; FDA additive manufacturing guidance (2017), test coupons',
  moment: 'build',
  run(facts) {
    const uses = couponUses(facts);
    return {
      findings: uses.flatMap((use) => findingsOf(facts, use)),
      claims: studyNotes(facts),
      basis: { pairs: canonicalJson(uses.map(({ coupon, implant }) => [coupon.coupon, implant.serial])) },
      doesNotApply: uses.length === 0,
    };
  },
};
