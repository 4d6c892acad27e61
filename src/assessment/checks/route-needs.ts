import type { Facts } from '../../dossier/facts.js';
import { isSameEntity, type LawOfCase, lawsOfCase } from '../../kinds/laws.js';
import { isNeeded, needsOf } from '../../kinds/route-needs.js';
import type { ClaimNote } from '../assessment.js';
import { gapsOf, isPermissionAsked, type Permission, permissionsFor } from '../permissions.js';
import { approvalOf, isGood, unapproved } from '../signed.js';
import { type Check, subject } from './check.js';
import type { FindingDraft, Told } from './finding-draft.js';

/** Never conceded: no signature of the maker stands for the law. Whether a permission is in date is asked on the day. */
export const routeNeeds: Check = {
  code: 'route-needs',
  since: 1,
  clause: 'ISO 13485:2016 4.1.1, 7.2.1; Regulation (EU) 2017/745; 21 CFR 801, 812',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const claims: ClaimNote[] = [];
    const used = lawsUsed(facts);
    return {
      findings: [
        ...withoutRoute(facts),
        ...used.flatMap(({ law, serials }) => findingsOf(facts, law, serials, claims)),
        ...acrossEntities(facts),
      ],
      claims,
      basis: { laws: JSON.stringify(used.map(({ law: { law, route } }) => [law, route])) },
      doesNotApply: used.length === 0,
    };
  },
};

interface LawUsed {
  readonly law: LawOfCase;
  readonly serials: readonly string[];
}

/** Each law with its route once, and the implants that are used under it. */
function lawsUsed({ family, cases, lot }: Facts): LawUsed[] {
  const found = new Map<string, { law: LawOfCase; serials: string[] }>();
  for (const { serial, case: code } of lot.body.implants) {
    const body = cases.get(code)?.body;
    for (const law of body ? lawsOfCase(family.body, body) : []) {
      const name = JSON.stringify(law);
      const known = found.get(name);
      if (known) known.serials.push(serial);
      else found.set(name, { law, serials: [serial] });
    }
  }
  return [...found.values()];
}

/** Cases that are used under a law for which the family names no route. */
function withoutRoute({ family, cases, lot }: Facts): FindingDraft[] {
  return [...cases].flatMap(([code, { body }]) => {
    if (body.usedUnder === undefined || lawsOfCase(family.body, body).length > 0) return [];
    const serials = lot.body.implants.filter((implant) => implant.case === code).map(({ serial }) => serial);
    return [
      {
        rule: 'no route under this law',
        subjects: [subject('case', code), subject('family', family.body.family)],
        facts: { case: code },
        effect: 'cannot be decided' as const,
        units: serials,
      },
    ];
  });
}

function findingsOf(facts: Facts, law: LawOfCase, serials: readonly string[], claims: ClaimNote[]): FindingDraft[] {
  const { family, udiDi } = facts.family.body;
  const finding = (rule: string, told: Told = {}): FindingDraft => ({
    rule,
    subjects: [subject('family', family)],
    facts: { family, law: law.law, route: law.route, ...told },
    effect: 'cannot be decided',
    units: serials,
  });
  if (needsOf(law) === undefined) return [finding('no such route')];
  const findings = isNeeded('udi', [law]) && udiDi === undefined ? [finding('no device identifier')] : [];
  if (!isPermissionAsked(law)) return findings;
  const permissions = permissionsFor(facts, law);
  if (permissions.length === 0) return [...findings, finding('no permission')];
  return [...findings, ...fewest(permissions.map((one) => againstPermission(facts, law, one, finding, claims)))];
}

function againstPermission(
  facts: Facts,
  law: LawOfCase,
  permission: Permission,
  finding: (rule: string, told: Told) => FindingDraft,
  claims: ClaimNote[],
): FindingDraft[] {
  const { document, standing, name } = permission;
  const { units, subjects, facts: told } = finding('', {});
  const unsigned = unapproved(standing, { units, subjects, facts: { ...told, permission: name } });
  if (unsigned) return [unsigned];
  if (isGood(standing)) claims.push(approvalOf(document.kind, document.key, standing));
  return gapsOf(facts, law, permission).map((gap) => finding(gap.rule, gap.facts));
}

/** One permission that answers everything is enough. */
const fewest = (all: readonly FindingDraft[][]): FindingDraft[] =>
  all.reduce((best, next) => (next.length < best.length ? next : best));

/** What is made in house stays with the legal entity that made it. */
function acrossEntities({ family, cases, lot }: Facts): FindingDraft[] {
  return [...cases].flatMap(([code, { body }]) => {
    if (!isNeeded('one-legal-entity', lawsOfCase(family.body, body))) return [];
    if (isSameEntity(body.prescriber.institution, family.body.manufacturer?.name ?? '')) return [];
    return [
      {
        rule: 'another legal entity',
        subjects: [subject('case', code)],
        facts: { case: code },
        effect: 'cannot be decided' as const,
        units: lot.body.implants.filter((implant) => implant.case === code).map(({ serial }) => serial),
      },
    ];
  });
}
