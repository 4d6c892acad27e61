import { type Facts, revisionKey } from '../dossier/facts.js';
import type { Pinned } from '../dossier/schema.js';
import { revisionSubject } from '../dossier/signable.js';
import { type RoutePermission, routePermission } from '../kinds/cases/route-permission.js';
import { readBody } from '../kinds/formats.js';
import type { LawOfCase } from '../kinds/laws.js';
import { needsOf, type RouteNeed } from '../kinds/route-needs.js';
import type { Told } from './checks/finding-draft.js';
import { type Standing, standingOf } from './signed.js';

/** A permission of the family under one law and route, with how its approval stands. */
export interface Permission {
  readonly name: string;
  readonly document: Pinned & { readonly body: RoutePermission };
  readonly standing: Standing;
}

/** Every revision of every permission of the family for a law and a route, as they are pinned. */
export function permissionsFor(facts: Facts, { law, route, deviceType }: LawOfCase): Permission[] {
  return facts.dossier.pinned
    .filter(({ kind }) => kind === routePermission.kind)
    .map((item) => ({ ...item, body: readBody(routePermission, item.body, () => {}) }))
    .filter(({ body }) => body.law === law && body.route === route)
    .filter(({ body }) => deviceType === undefined || body.deviceType === deviceType)
    .map((document) => ({
      name: revisionKey(document.key, document.revision),
      document,
      standing: standingOf(facts, revisionSubject(document), document.body.approval),
    }));
}

/** What a permission may have to answer for, by what a law asks. */
const ANSWERED: Readonly<Partial<Record<RouteNeed['need'], (permission: RoutePermission) => boolean>>> = {
  'body-certificate': ({ body, number }) => body !== undefined && number !== undefined,
  'study-approval': ({ body, number }) => body !== undefined && number !== undefined,
  permission: ({ number }) => number !== undefined,
  conditions: ({ answers = [] }) => answers.length > 0,
  'card-decision': ({ cardDecision }) => cardDecision !== undefined,
  declaration: ({ declaration }) => declaration !== undefined,
};

/** Whether a law asks on this route for anything that only a permission can answer. */
export const isPermissionAsked = (law: LawOfCase): boolean =>
  (needsOf(law) ?? []).some(({ need }) => ANSWERED[need] !== undefined);

/** What a permission does not answer, by rule, with what its words need. */
export function gapsOf(facts: Facts, law: LawOfCase, { name, document }: Permission): { rule: string; facts: Told }[] {
  const { answers = [], sites } = document.body;
  const made = facts.family.body.manufacturer?.sites ?? [];
  return [
    ...(needsOf(law) ?? [])
      .filter(({ need }) => ANSWERED[need]?.(document.body) === false)
      .map(({ need, source }) => ({ rule: 'not answered', facts: { permission: name, need, source } })),
    ...answers
      .filter(({ answer }) => answer === 'not met')
      .map(({ condition }) => ({ rule: 'condition not met', facts: { permission: name, condition } })),
    ...made
      .filter((site) => sites !== undefined && !sites.includes(site))
      .map((site) => ({ rule: 'place of manufacture not covered', facts: { permission: name, site } })),
  ];
}
