import type { ReleaseStep } from '../dossier/release-step.js';
import type { Meaning, Role } from '../dossier/statement.js';
import { ROLES_OF_ACTS } from '../ledger/roles-held.js';
import type { ActName } from '../report/phrases/acts.js';
import type { IndependenceRule, OrderRule } from '../report/phrases/authority.js';
import { DOCUMENTS, QUALITY_DOCUMENTS, REGULATORY_DOCUMENTS } from './approved-documents.js';

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

/** A row of the table: what it does not name is not asked. */
type ActRow = Omit<Act, Asked> & Partial<Pick<Act, Asked>>;
type Asked = 'qualification' | 'independence' | 'order';

export const QUALIFIED_TO = { decide: 'decisions on findings', review: 'lot review', release: 'lot release' } as const;

const TABLE: readonly ActRow[] = [
  {
    act: 'sign a document as its author',
    meaning: 'performed',
    kinds: DOCUMENTS,
    roles: ['process engineer', 'case designer', 'analyst', 'quality engineer', 'regulatory'],
  },
  {
    act: 'approve a document',
    meaning: 'approved',
    kinds: QUALITY_DOCUMENTS,
    roles: ['quality engineer'],
    independence: ['author'],
    order: ['authored'],
  },
  {
    act: 'approve a legal route',
    meaning: 'approved',
    kinds: REGULATORY_DOCUMENTS,
    roles: ['regulatory'],
    independence: ['author'],
    order: ['authored'],
  },
  {
    act: 'sign a statement',
    meaning: 'approved',
    kinds: ['custom statement'],
    roles: ['regulatory'],
  },
  {
    act: 'review a capability statement',
    meaning: 'reviewed',
    kinds: ['capability statement'],
    roles: ['quality engineer'],
  },
  {
    act: 'approve a qualification',
    meaning: 'approved',
    kinds: ['qualification'],
    // A releaser may approve too: somebody must be able to for the only quality engineer of a small cell.
    roles: ['quality engineer', 'releaser'],
    independence: ['self'],
  },
  {
    act: 'check a certificate',
    meaning: 'checked',
    kinds: ['certificate'],
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer'],
    independence: ['transcriber'],
  },
  {
    act: 'check an acceptance',
    meaning: 'checked',
    kinds: ['design-acceptance'],
    roles: ['operator', 'analyst', 'case designer', 'process engineer', 'quality engineer', 'regulatory'],
    independence: ['enterer'],
  },
  {
    act: 'accept or reject a receipt',
    meaning: 'approved',
    kinds: ['receipt'],
    roles: ['quality engineer'],
    independence: ['transcriber'],
  },
  {
    act: 'accept a stock part',
    meaning: 'approved',
    kinds: ['stock-part'],
    roles: ['quality engineer'],
    independence: ['preparer'],
  },
  {
    act: 'accept a load',
    meaning: 'approved',
    kinds: ['process-load'],
    roles: ['quality engineer'],
    independence: ['runner'],
  },
  {
    act: 'sign results as performed',
    meaning: 'performed',
    kinds: ['result-set'],
    roles: ['analyst', 'operator', 'process engineer', 'quality engineer'],
    order: ['measured'],
  },
  {
    act: 'check typed values',
    meaning: 'checked',
    kinds: ['result-set'],
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer'],
    independence: ['typist'],
  },
  {
    act: 'decide a finding',
    meaning: 'decided',
    kinds: ['log finding', 'log finding group', 'check finding'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
  },
  {
    act: 'decide a disposition',
    meaning: 'decided',
    kinds: ['disposition'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
  },
  {
    act: 'decide an impact',
    meaning: 'decided',
    kinds: ['impact'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
  },
  {
    act: 'decide a build at risk',
    meaning: 'decided',
    kinds: ['risk-build'],
    roles: ['process engineer', 'quality engineer'],
    qualification: QUALIFIED_TO.decide,
    independence: ['decided'],
  },
  {
    act: 'close a nonconformity',
    meaning: 'approved',
    kinds: ['nonconformity'],
    roles: ['quality engineer'],
  },
  {
    act: 'close a corrective action',
    meaning: 'approved',
    kinds: ['corrective-action'],
    roles: ['quality engineer'],
  },
  {
    act: 'close a recall',
    meaning: 'approved',
    kinds: ['recall'],
    roles: ['quality engineer', 'regulatory'],
  },
  {
    act: 'review a lot',
    meaning: 'reviewed',
    kinds: ['lot file'],
    roles: ['quality engineer'],
    qualification: QUALIFIED_TO.review,
    independence: ['maker', 'tester'],
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
    independence: ['maker'],
    order: ['reviewed'],
  },
  // No signature, and no password each time where somebody is signed in: what comes in is checked and not approved.
  {
    act: 'take documents in',
    meaning: null,
    kinds: [],
    roles: ['operator', 'analyst', 'case designer', 'process engineer', 'quality engineer', 'releaser', 'regulatory'],
  },
  // Acts without a signature on something; the identity of the person is proven all the same.
  {
    act: 'place a hold',
    meaning: null,
    kinds: ['lot'],
    roles: ROLES_OF_ACTS['hold-placed'],
  },
  {
    act: 'lift a hold',
    meaning: null,
    kinds: ['lot'],
    roles: ROLES_OF_ACTS['hold-lifted'],
  },
  {
    act: 'place a legal hold',
    meaning: null,
    kinds: ['lot'],
    roles: ROLES_OF_ACTS['legal-hold-placed'],
  },
  {
    act: 'lift a legal hold',
    meaning: null,
    kinds: ['lot'],
    roles: ROLES_OF_ACTS['legal-hold-lifted'],
  },
  {
    act: 'withdraw a document for cause',
    meaning: null,
    kinds: DOCUMENTS,
    roles: ROLES_OF_ACTS['document-withdrawn'],
  },
  {
    act: 'revoke a release',
    meaning: null,
    kinds: ['lot'],
    roles: ROLES_OF_ACTS['release-revoked'],
  },
  {
    act: 'look at changed verdicts',
    meaning: null,
    kinds: ['lot'],
    roles: ROLES_OF_ACTS['verdict-changes-seen'],
  },
  {
    act: 'remove the bytes of evidence',
    meaning: null,
    kinds: ['evidence'],
    // Two people: one of each role.
    roles: ROLES_OF_ACTS['evidence-redacted'],
  },
  {
    act: 'manage accounts, roles and deputies',
    meaning: null,
    kinds: ['account'],
    roles: ['administrator'],
  },
];

export const ACTS: readonly Act[] = TABLE.map((row) => ({ qualification: null, independence: [], order: [], ...row }));

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
