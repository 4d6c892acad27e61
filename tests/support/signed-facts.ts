import { customStatement, statementSubject } from '../../src/assessment/custom-statement.js';
import { digestOf } from '../../src/dossier/canonical.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { Pinned } from '../../src/dossier/schema.js';
import {
  certificateSubject,
  qualificationSubject,
  receiptSubject,
  revisionSubject,
  stockPartSubject,
} from '../../src/dossier/signable.js';
import type { Meaning, Role, SignedStatement, SignedSubject } from '../../src/dossier/statement.js';

/** When everything that has to be signed before a build was signed: before any lot of the cell. */
export const SIGNED_AT = '2031-01-15T09:00:00.000Z';

const ROLES: Readonly<Record<string, Role>> = {
  'P-QE': 'quality engineer',
  'P-PE': 'process engineer',
  'P-AN': 'analyst',
  'P-OP': 'operator',
};

/**
 * A statement as the assessment reads it from a lot file. The assessment asks who signed what; whether the Ed25519
 * signatures hold is asked elsewhere, so there are none.
 */
export function statement(
  meaning: Meaning,
  subject: SignedSubject,
  by: string,
  more: { at?: string; outcome?: 'accepted' | 'rejected' } = {},
): SignedStatement {
  const said = {
    format: 1 as const,
    meaning,
    subjects: [subject],
    beside: [],
    units: [],
    step: null,
    outcome: more.outcome ?? null,
    reason: null,
    person: {
      code: by,
      name: by,
      role: ROLES[by] ?? ('analyst' as const),
      deputyFor: null,
      key: '0'.repeat(64),
      recoveredBy: null,
    },
    at: more.at ?? SIGNED_AT,
    offset: '+01:00',
    installation: '0'.repeat(64),
    demo: false,
  };
  return { statement: said, digest: digestOf(said), personSignature: '', signature: '' };
}

const DOCUMENTS = [
  ...['family', 'specification', 'recipe', 'method', 'process-validation', 'equivalence-study', 'rework-instruction'],
  ...['case-design', 'design-envelope', 'route-permission', 'material-specification', 'software', 'support-window'],
];

function signaturesOn(pinned: Pinned, facts: Facts): SignedStatement[] {
  const { kind } = pinned;
  if (DOCUMENTS.includes(kind)) {
    const claimed = (pinned.body as { approval?: { at: string } }).approval;
    return claimed
      ? [statement('approved', revisionSubject(pinned), 'P-QE', { at: new Date(claimed.at).toISOString() })]
      : [];
  }
  if (kind === 'receipt') {
    const receipt = facts.receipts.get(pinned.key)!.body;
    const certificate = certificateSubject(receipt);
    return [
      ...(receipt.acceptance ? [statement('approved', receiptSubject(receipt), 'P-QE')] : []),
      ...(certificate && receipt.certificate?.checkedBy
        ? [statement('checked', certificate, receipt.certificate.checkedBy)]
        : []),
    ];
  }
  if (kind === 'stock-part') {
    const stock = facts.stockParts.get(pinned.key)!.body;
    return stock.acceptance ? [statement('approved', stockPartSubject(stock), 'P-QE')] : [];
  }
  if (kind === 'process-load') return [statement('approved', revisionSubject(pinned), 'P-QE')];
  if (kind === 'design-acceptance') return [statement('checked', revisionSubject(pinned), 'P-QE')];
  if (kind === 'person') {
    const { person, qualifications } = facts.people.get(pinned.key)!.body;
    return qualifications.map((item) => statement('approved', qualificationSubject(person, item), 'P-QE'));
  }
  if (kind !== 'result-set') return [];
  const { evidence } = pinned.body as { evidence: string };
  const rows = facts.results.filter((row) => row.evidence === evidence);
  const analysts = [...new Set(rows.map((row) => row.analyst))];
  const checkers = [...new Set(rows.map((row) => row.checkedBy))].filter((code) => code !== '');
  return [
    ...analysts.map((code) => statement('performed', revisionSubject(pinned), code)),
    ...checkers.map((code) => statement('checked', revisionSubject(pinned), code)),
  ];
}

/** The facts of a lot as if every claim in its files had been signed by those whom it names. */
export function signedFacts(facts: Facts, ...more: readonly SignedStatement[]): Facts {
  const ofCases = [...facts.caseParts.values()].flatMap(({ pinned }) => pinned);
  const signatures = [
    ...[...facts.dossier.pinned, ...ofCases].flatMap((pinned) => signaturesOn(pinned, facts)),
    ...facts.lot.body.implants.flatMap((implant) => {
      const stated = customStatement(facts, implant);
      return 'lacks' in stated ? [] : [statement('approved', statementSubject(stated), 'P-RA')];
    }),
    ...more,
  ];
  return { ...facts, signatures, dossier: { ...facts.dossier, signatures } };
}

/** What a process and a quality engineer sign together on a finding. */
export const decidedByBoth = (id: string, outcome: 'accepted' | 'rejected' = 'accepted'): SignedStatement[] =>
  ['P-PE', 'P-QE'].map((by) =>
    statement('decided', { kind: 'check finding', key: id.slice(0, 12), revision: null, digest: id }, by, { outcome }),
  );
