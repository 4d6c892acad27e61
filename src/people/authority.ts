import type { ReleaseStep } from '../dossier/release-step.js';
import type { ActingRole, Meaning, Role } from '../dossier/statement.js';
import type { ActName } from '../report/phrases/acts.js';
import type { Denial, IndependenceRule, OrderRule } from '../report/phrases/authority.js';

/**
 * Who may do what: one table, which the code reads, a page shows and the docs print. Sources: docs/trade.md 9.2, 9.4 to
 * 9.6 and 2.4 for access, authority at each act, independence in a cell of five and qualified people; ISO 13485:2016
 * 8.2.6 and 8.3 for release and decisions.
 */

export interface Act {
  /** Stable name, as refusals keep it; its words stand in `src/report/phrases/acts.ts`. */
  readonly act: ActName;
  readonly meaning: Meaning | null;
  /** Of a release: what for. */
  readonly step?: ReleaseStep;
  /** Kinds of things that can be acted on. */
  readonly kinds: readonly string[];
  /** Any one of these roles. */
  readonly roles: readonly Role[];
  /** Operation that the person must be qualified for on that day, by a qualification that somebody signed. */
  readonly qualification: string | null;
  readonly independence: readonly IndependenceRule[];
  readonly order: readonly OrderRule[];
}

/** Documents that their author signs and quality approves. */
const QUALITY_DOCUMENTS = [
  'family',
  'specification',
  'recipe',
  'method',
  'process-validation',
  'equivalence-study',
  'program-version',
  'material-specification',
  'rework-instruction',
  'design-envelope',
  'case-design',
  'support-window',
  'test-medium',
  'capability-plan',
  'signal-outcome',
  'design-plan',
  'user-need',
  'design-input',
  'design-output',
  'design-study',
  'design-review',
  'hazard',
  'risk-control',
  'design-change',
  'design-transfer',
  'labelling-decision',
  'software',
  'gap-answer',
  'baseline',
  'unit-move',
];

/** What the law allows is for whoever knows the law. */
const REGULATORY_DOCUMENTS = ['route-permission'];

const DOCUMENTS = [...QUALITY_DOCUMENTS, ...REGULATORY_DOCUMENTS];

export const QUALIFIED_TO = { decide: 'decisions on findings', review: 'lot review', release: 'lot release' } as const;

export const ACTS: readonly Act[] = [
  {
    act: 'sign a document as its author',
    meaning: 'performed',
    kinds: DOCUMENTS,
    roles: ['process engineer', 'case designer', 'analyst', 'quality engineer', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'approve a document',
    meaning: 'approved',
    kinds: QUALITY_DOCUMENTS,
    roles: ['quality engineer'],
    qualification: null,
    independence: ['author'],
    order: ['authored'],
  },
  {
    act: 'approve a legal route',
    meaning: 'approved',
    kinds: REGULATORY_DOCUMENTS,
    roles: ['regulatory'],
    qualification: null,
    independence: ['author'],
    order: ['authored'],
  },
  {
    act: 'sign a statement',
    meaning: 'approved',
    kinds: ['custom statement'],
    roles: ['regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'review a capability statement',
    meaning: 'reviewed',
    kinds: ['capability statement'],
    roles: ['quality engineer'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'approve a qualification',
    meaning: 'approved',
    kinds: ['qualification'],
    // A releaser may approve too: somebody must be able to for the only quality engineer of a small cell.
    roles: ['quality engineer', 'releaser'],
    qualification: null,
    independence: ['self'],
    order: [],
  },
  {
    act: 'check a certificate',
    meaning: 'checked',
    kinds: ['certificate'],
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer'],
    qualification: null,
    independence: ['transcriber'],
    order: [],
  },
  {
    act: 'check an acceptance',
    meaning: 'checked',
    kinds: ['design-acceptance'],
    roles: ['operator', 'analyst', 'case designer', 'process engineer', 'quality engineer', 'regulatory'],
    qualification: null,
    independence: ['enterer'],
    order: [],
  },
  {
    act: 'accept or reject a receipt',
    meaning: 'approved',
    kinds: ['receipt'],
    roles: ['quality engineer'],
    qualification: null,
    independence: ['transcriber'],
    order: [],
  },
  {
    act: 'accept a load',
    meaning: 'approved',
    kinds: ['process-load'],
    roles: ['quality engineer'],
    qualification: null,
    independence: ['runner'],
    order: [],
  },
  {
    act: 'sign results as performed',
    meaning: 'performed',
    kinds: ['result-set'],
    roles: ['analyst', 'operator', 'process engineer', 'quality engineer'],
    qualification: null,
    independence: [],
    order: ['measured'],
  },
  {
    act: 'check typed values',
    meaning: 'checked',
    kinds: ['result-set'],
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer'],
    qualification: null,
    independence: ['typist'],
    order: [],
  },
  {
    act: 'decide a finding',
    meaning: 'decided',
    kinds: ['log finding', 'log finding group', 'check finding'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
    order: [],
  },
  {
    act: 'decide a disposition',
    meaning: 'decided',
    kinds: ['disposition'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
    order: [],
  },
  {
    act: 'decide an impact',
    meaning: 'decided',
    kinds: ['impact'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
    order: [],
  },
  {
    act: 'decide a build at risk',
    meaning: 'decided',
    kinds: ['risk-build'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
    order: [],
  },
  {
    act: 'close a nonconformity',
    meaning: 'approved',
    kinds: ['nonconformity'],
    roles: ['quality engineer'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'close a corrective action',
    meaning: 'approved',
    kinds: ['corrective-action'],
    roles: ['quality engineer'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'close a recall',
    meaning: 'approved',
    kinds: ['recall'],
    roles: ['quality engineer', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'review a lot',
    meaning: 'reviewed',
    kinds: ['lot file'],
    roles: ['quality engineer'],
    qualification: QUALIFIED_TO.review,
    independence: ['maker', 'tester'],
    order: [],
  },
  {
    act: 'release units for sterilisation',
    meaning: 'released',
    step: 'sterilisation',
    kinds: ['lot file'],
    roles: ['releaser'],
    qualification: QUALIFIED_TO.release,
    independence: ['maker', 'tester', 'decider', 'reviewer'],
    order: ['reviewed', 'releasable'],
  },
  {
    act: 'release units for distribution',
    meaning: 'released',
    step: 'distribution',
    kinds: ['lot file'],
    roles: ['releaser'],
    qualification: QUALIFIED_TO.release,
    independence: ['maker', 'tester', 'decider', 'reviewer'],
    order: ['reviewed', 'releasable', 'earlier steps', 'gates'],
  },
  {
    act: 'reject units',
    meaning: 'rejected',
    kinds: ['lot file'],
    roles: ['releaser', 'quality engineer'],
    qualification: null,
    independence: ['maker'],
    order: ['reviewed'],
  },
  // No signature, and no password each time where somebody is signed in: what comes in is checked and not approved.
  {
    act: 'take documents in',
    meaning: null,
    kinds: [],
    roles: ['operator', 'analyst', 'case designer', 'process engineer', 'quality engineer', 'releaser', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  // Acts without a signature on something; the identity of the person is proven all the same.
  {
    act: 'place a hold',
    meaning: null,
    kinds: ['lot'],
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer', 'releaser', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'lift a hold',
    meaning: null,
    kinds: ['lot'],
    roles: ['quality engineer', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'place a legal hold',
    meaning: null,
    kinds: ['lot'],
    roles: ['quality engineer', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'lift a legal hold',
    meaning: null,
    kinds: ['lot'],
    roles: ['regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'withdraw a document for cause',
    meaning: null,
    kinds: DOCUMENTS,
    roles: ['process engineer', 'quality engineer', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'revoke a release',
    meaning: null,
    kinds: ['lot'],
    roles: ['releaser', 'quality engineer', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'look at changed verdicts',
    meaning: null,
    kinds: ['lot'],
    roles: ['quality engineer'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'remove the bytes of evidence',
    meaning: null,
    kinds: ['evidence'],
    // Two people: one of each role.
    roles: ['quality engineer', 'regulatory'],
    qualification: null,
    independence: [],
    order: [],
  },
  {
    act: 'manage accounts, roles and deputies',
    meaning: null,
    kinds: ['account'],
    roles: ['administrator'],
    qualification: null,
    independence: [],
    order: [],
  },
];

/** Whatever is decided is decided by one person of each role. */
export const needsEachRole = ({ meaning }: Pick<Act, 'meaning'>): boolean => meaning === 'decided';

/**
 * The act that a meaning stands for on a kind of thing, or undefined when nobody signs such a thing so.
 * @param step of a release; the first one when it does not matter.
 */
export function actOf(meaning: Meaning, kind: string, step?: ReleaseStep): Act | undefined {
  return ACTS.find(
    (act) => act.meaning === meaning && act.kinds.includes(kind) && (step === undefined || act.step === step),
  );
}

export function actNamed(name: string): Act {
  const found = ACTS.find((act) => act.act === name);
  if (!found) throw new RangeError(`there is no act "${name}" in the table of authority`);
  return found;
}

/** What is known of the person who wants to act, on that day. */
export interface Candidate {
  readonly code: string;
  readonly roles: readonly ActingRole[];
  /** Operations with a signed qualification that covers the day. */
  readonly qualifiedFor: readonly string[];
}

/** Codes of the people who did what, as far as the act's independence rules ask. */
export type Doers = Partial<Readonly<Record<IndependenceRule, readonly string[]>>>;

export type Authority = { readonly may: true; readonly as: ActingRole } | { readonly may: false; readonly why: Denial };

/**
 * Whether a person may perform an act.
 * @param taken roles in which others signed already, where an act needs one signature of each role.
 */
export function authorityFor(act: Act, person: Candidate, doers: Doers, taken: readonly Role[] = []): Authority {
  const no = (why: Denial): Authority => ({ may: false, why });
  if (person.roles.some(({ role }) => role === 'auditor')) return no({ code: 'auditor' });
  const held = person.roles.filter(({ role }) => act.roles.includes(role));
  if (held.length === 0) return no({ code: 'role', facts: { act: act.act, roles: act.roles } });
  for (const rule of act.independence) {
    if (doers[rule]?.includes(person.code)) {
      return no({ code: 'independence', facts: { act: act.act, rule, person: person.code } });
    }
  }
  const open = held.filter(({ role }) => !taken.includes(role));
  if (open.length === 0) {
    const missing = act.roles.filter((role) => !taken.includes(role));
    return no({ code: 'role taken', facts: { held: held[0]!.role, open: missing } });
  }
  if (act.qualification !== null && !person.qualifiedFor.includes(act.qualification)) {
    return no({ code: 'qualification', facts: { person: person.code, qualification: act.qualification } });
  }
  // In their own right before in somebody's place.
  return { may: true, as: open.find(({ deputyFor }) => deputyFor === null) ?? open[0]! };
}
