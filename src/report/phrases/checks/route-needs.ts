import { LAWS_KNOWN, type Need, needsOf } from '../../../kinds/route-needs.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, PAIRS, readFact, type Told, wordsOf } from '../phrase.js';
import { routeText } from '../trade-codes.js';

/** What a law asks, in words. */
export const NEEDS_IN_WORDS: Readonly<Record<Need, string>> = {
  udi: 'a device identifier (UDI)',
  'body-certificate': 'a certificate of a notified body, with its number and scope',
  statement: 'the statement of a custom-made device',
  envelope: 'a design inside an approved envelope',
  'study-approval': 'the approval of the study, with its number',
  'one-legal-entity': 'that maker and user are one legal entity',
  conditions: 'an answer to each condition of the law',
  'card-decision': 'the decision whether an implant card goes with each unit',
  declaration: 'the public declaration',
  permission: 'a permission with its number',
  'label-words': 'its words on the label',
};

const what = ({ law, route }: Told): string => `law ${law}, route ${routeText(route)}`;
/** The table of laws and routes, for whoever has no program. */
const TABLE = LAWS_KNOWN.map(({ law, route }) => {
  const asked = needsOf({ law, route })!.map(({ need }) => need);
  return `${law} ${route}: ${asked.join(', ')}`;
}).join('; ');

const BY = 'Regulatory person';

export const routeNeeds: CheckPhrases = {
  title: 'What law and route ask for',
  asks: 'Is there everything that the law of each case asks on its route, approved by a regulatory person?',
  recompute: `Laws of a case as in case-open. A case with "usedUnder" but no law: "no route under this law". Then for each law
with its route, and the implants of cases that have it, what is asked: ${TABLE}. Under any other law: permission. A route that
is not named here: "no such route". udi: "no device identifier" without "udiDi" in the family. If any of body-certificate,
study-approval, permission, conditions, card-decision and declaration is asked: the documents "route-permission" of dossier.json
with that law and route, and with the "deviceType" of the law where it has one; none is "no permission". For each of them: "no
approval" or "claimed, not signed" where it is not approved; else "not answered" for each need without its fields (body and
number; body and number; number; at least one answer; "cardDecision"; "declaration"), "condition not met" for each answer that is
not met, and "place of manufacture not covered" for each of "sites" of the manufacturer that is not among its "sites", where it has
any. The first permission with the fewest such findings counts. one-legal-entity: "another legal entity", with the implants of the case,
unless institution of the prescriber and name of the manufacturer are equal, whatever their capitals and spaces. Does not apply
where no case has a law.`,
  basis: ({ laws }) =>
    readFact(PAIRS, laws)
      .map(([law, route]) => `law ${law}, route ${routeText(route)}`)
      .join('; '),
  doesNotApply: 'neither the family nor a case names a law',
  rules: {
    ...approvalPhrases(({ permission }) => `Permission ${permission}`),
    'no route under this law': (facts) => ({
      says: `Case ${facts.case} is used under a law for which the family names no route.`,
      clearedBy: `${BY}: name law and route in a further revision of the family, or correct the case.`,
    }),
    'no such route': (facts) => ({
      says: `There is no route ${routeText(facts.route)} under the law ${facts.law}.`,
      clearedBy: `${BY}: name another route in a further revision of the family.`,
    }),
    'no device identifier': (facts) => ({
      says: `Family ${facts.family} has no device identifier, which ${what(facts)} asks for.`,
      clearedBy: `${BY}: take in a revision of the family that names its GTIN.`,
    }),
    'no permission': (facts) => ({
      says: `Nothing on record permits family ${facts.family} under ${what(facts)}.`,
      clearedBy: `${BY}: take in the permission and approve it.`,
    }),
    'not answered': (facts) => ({
      says: `Permission ${facts.permission} does not state ${wordsOf(NEEDS_IN_WORDS, facts.need)}, which ${what(facts)} asks for (${facts.source}).`,
      clearedBy: `${BY}: take in a revision that states it.`,
    }),
    'condition not met': (facts) => ({
      says: `Permission ${facts.permission} answers a condition with "not met": ${facts.condition}.`,
      clearedBy: `${BY}: nothing may be used on this route until the condition is met.`,
    }),
    'place of manufacture not covered': (facts) => ({
      says: `Permission ${facts.permission} does not cover a place of manufacture: ${facts.site}.`,
      clearedBy: `${BY}: have the scope extended, and take in the revision.`,
    }),
    'another legal entity': (facts) => ({
      says: `Case ${facts.case} is of another institution than the maker; what is made in house may not leave its legal entity.`,
      clearedBy: `${BY}: another route is needed, or the institution is written otherwise than the maker.`,
    }),
  },
};
