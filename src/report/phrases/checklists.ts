import { checksFor } from '../../assessment/checks/catalogue.js';
import { GAP_RULES } from '../../design-history/gaps/catalogue.js';
import type { KindName } from '../../kinds/catalogue.js';
import type { LawOfCase } from '../../kinds/laws.js';
import { LAWS_KNOWN, type Need, needsOf } from '../../kinds/route-needs.js';
import { CHECK_PHRASES } from './checks/catalogue.js';
import { NEEDS_IN_WORDS } from './checks/route-needs.js';
import { CLAUSES, type ClauseRow } from './design-clauses.js';
import { GAP_PHRASES } from './gaps/catalogue.js';
import { kindText } from './kinds.js';
import { routeText } from './trade-codes.js';

/** Documents in which a need of a law is answered. */
const ANSWERED_IN: Readonly<Record<Need, readonly KindName[]>> = {
  udi: ['family'],
  'body-certificate': ['route-permission'],
  statement: ['case', 'case-design', 'design-acceptance'],
  envelope: ['design-envelope', 'case-design'],
  'study-approval': ['route-permission'],
  'one-legal-entity': ['case'],
  conditions: ['route-permission'],
  'card-decision': ['route-permission', 'labelling-decision'],
  declaration: ['route-permission'],
  permission: ['route-permission'],
  'label-words': ['labelling-decision'],
};

const MOMENTS = {
  build: 'Before the chamber closes, and of the build',
  sterilisation: 'Before sterilisation',
  release: 'Before a unit is released',
} as const;

/** Clauses of one law stand in no list of another; those of a standard stand in all. */
const OF_LAW: Readonly<Record<string, RegExp>> = { EU: /^Regulation \(EU\)/, US: /^21 (CFR|USC)/ };

/** Asked on one route alone. */
const OF_ROUTE: readonly { readonly clause: RegExp; readonly route: LawOfCase['route'] }[] = [
  { clause: /Annex XIII/, route: 'custom-made' },
];

const appliesTo = ({ clause }: ClauseRow, { law, route }: LawOfCase): boolean =>
  Object.entries(OF_LAW).every(([of, pattern]) => of === law || !pattern.test(clause)) &&
  OF_ROUTE.every((only) => only.route === route || !only.clause.test(clause));

const starters = (kinds: readonly KindName[]): string =>
  kinds.map((kind) => `[${kindText(kind)}](${kind}.yaml)`).join(', ');

/** Name of the file in `templates/starters`. */
export const checklistFile = ({ law, route }: LawOfCase): string => `checklist-${law}-${route}.md`.toLowerCase();

/** Every law and route that has a list. */
export const CHECKLISTS: readonly LawOfCase[] = LAWS_KNOWN;

/** What a cell collects for a family on one route of one law, as a list to tick off: made from the tables that the program asks by. */
export function checklistText(of: LawOfCase): string {
  return `${[
    `# Checklist: ${of.law}, ${routeText(of.route)}`,
    '',
    'Made by `npm run docs` from the tables by which the program asks. It is an aid and no legal advice: numbers of clauses and',
    'places in laws are *from memory* unless the table of laws says otherwise, so hold them against the texts. It covers no',
    'safety at work: powder of magnesium and zinc burns and its dust explodes, argon takes the air away; local codes, trained people',
    'and licensed practice decide there.',
    '',
    ...section('What the law asks on this route', needRows(of)),
    ...section('What the design history of the family holds', designRows(of)),
    ...section('What else the program asks of the design history', furtherRows(of)),
    ...Object.entries(MOMENTS).flatMap(([moment, title]) => section(title, checkRows(moment))),
  ]
    .join('\n')
    .trimEnd()}\n`;
}

const section = (title: string, rows: readonly string[]): string[] =>
  rows.length === 0 ? [] : [`## ${title}`, '', ...rows, ''];

const needRows = (of: LawOfCase): string[] =>
  (needsOf(of) ?? []).map(
    ({ need, source }) => `- [ ] ${NEEDS_IN_WORDS[need]}: ${source}. In: ${starters(ANSWERED_IN[need])}`,
  );

const clausesOf = (of: LawOfCase): ClauseRow[] => CLAUSES.filter((row) => appliesTo(row, of));

function designRows(of: LawOfCase): string[] {
  return clausesOf(of).flatMap(({ clause, asks, kinds }) => [
    `- [ ] ${clause}: ${asks}.${kinds.length === 0 ? '' : ` In: ${starters(kinds)}`}`,
    ...GAP_RULES.filter((rule) => rule.clause === clause).map(
      ({ code }) => `  - ${GAP_PHRASES[code].asks} (\`${code}\`)`,
    ),
  ]);
}

/** Rules of clauses that have no row of their own. */
function furtherRows(of: LawOfCase): string[] {
  const told = new Set(clausesOf(of).map(({ clause }) => clause));
  return GAP_RULES.filter(({ clause }) => !told.has(clause)).map(
    ({ code, clause }) => `- [ ] ${GAP_PHRASES[code].asks} ${clause} (\`${code}\`)`,
  );
}

const checkRows = (moment: string): string[] =>
  checksFor([])
    .filter((check) => check.moment === moment)
    .map(({ code, clause }) => `- [ ] ${CHECK_PHRASES[code].asks} ${clause} (\`${code}\`)`);
