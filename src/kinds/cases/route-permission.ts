import { z } from 'zod';
import { endsTooEarly, needed } from '../contradictions.js';
import { Approval, Code, Day, FilePath, Format, Law, LegalRoute, PastDay, Text, whole, YesNo } from '../fields.js';
import { approvedBy, type Contradiction, defineKind, originalOf, repeated, tie } from '../kind.js';
import { typeToCount } from '../route-rules.js';

export const RoutePermission = z.strictObject({
  kind: z.literal('route-permission'),
  format: Format,
  permission: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  law: Law,
  route: LegalRoute,
  deviceType: Code.optional().describe('type of device as the family names it under this law'),
  body: Text.optional().describe('body or authority that gave it'),
  number: Text.optional().describe('number under which it was given'),
  scope: Text,
  sites: z.array(Text).min(1).optional().describe('places of manufacture that it covers'),
  from: Day,
  to: Day.optional().describe('last day; no end when absent'),
  answers: z
    .array(
      z.strictObject({
        condition: Text.describe('condition of the law, with its place there'),
        answer: z.enum(['met', 'not met', 'does not apply']),
        grounds: Text,
      }),
    )
    .min(1)
    .optional()
    .describe('conditions of the law, each answered'),
  declaration: z
    .strictObject({ where: Text.describe('where it is published'), at: PastDay, file: FilePath.optional() })
    .optional()
    .describe('public declaration of devices made and used in one institution'),
  cardDecision: z
    .strictObject({ card: YesNo, why: Text })
    .optional()
    .describe('whether an implant card goes with each unit'),
  approval: Approval.optional(),
});
export type RoutePermission = z.infer<typeof RoutePermission>;

function contradictions(document: RoutePermission): Contradiction[] {
  const { law, route, from, to, answers, declaration, body, number, sites } = document;
  return [
    ...endsTooEarly('to', to, from),
    ...typeToCount(document, ''),
    ...repeated(
      (answers ?? []).map(({ condition }) => condition),
      (index) => `answers[${index}].condition`,
      'condition',
    ),
    ...repeated(sites ?? [], (index) => `sites[${index}]`, 'site'),
    ...(law === 'US' && route === 'custom-made'
      ? needed('answers', answers, 'custom-made devices rest on conditions of the law US', 'each condition answered')
      : []),
    ...(route === 'in-house'
      ? needed('declaration', declaration, 'the route is in-house', 'where the public declaration stands')
      : []),
    ...(body === undefined ? [] : needed('number', number, 'a body gave it', 'the number under which it was given')),
    ...(number === undefined ? [] : needed('body', body, 'it has a number', 'the body or authority that gave it')),
  ];
}

export const routePermission = defineKind<RoutePermission>({
  kind: 'route-permission',
  numbering: 'document',
  purpose:
    'What lets units of a family reach patients under one law and route, for which places, and from when to when.',
  schema: RoutePermission,
  key: (document) => document.permission,
  name: (document) => document.title,
  links: (document) => [
    tie('permits', 'family', document.family, 'family', { aside: true }),
    ...approvedBy(document.approval),
  ],
  contradictions,
  files: ({ declaration, approval }) => [
    ...(declaration?.file === undefined
      ? []
      : [{ path: declaration.file, field: 'declaration.file', name: 'attachment' as const }]),
    ...originalOf(approval, 'approval'),
  ],
});
