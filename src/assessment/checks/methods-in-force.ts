import type { Facts, Recorded } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { Method } from '../../kinds/method.js';
import type { ClaimNote } from '../assessment.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Values of one method revision, in the order of measuring. */
interface Use {
  readonly method: Recorded<Method>;
  readonly results: readonly NumberedResult[];
}

function usesOf(facts: Facts): Use[] {
  const grouped = new Map<string, NumberedResult[]>();
  for (const result of currentResults(facts)) {
    const key = revisionKey(result.method, Number(result.methodRevision));
    grouped.set(key, [...(grouped.get(key) ?? []), result]);
  }
  return [...grouped].flatMap(([key, results]) => {
    const method = facts.methods.get(key);
    return method
      ? [{ method, results: results.sort((a, b) => Date.parse(a.measuredAt) - Date.parse(b.measuredAt)) }]
      : [];
  });
}

/** A later revision that had taken effect when a value was measured. */
function laterInForce(facts: Facts, { body }: Recorded<Method>, at: string): Recorded<Method> | undefined {
  return [...facts.methods.values()]
    .filter((other) => other.body.method === body.method && other.body.revision > body.revision)
    .find((other) => !isAfter(other.body.effectiveFrom, at));
}

function findingsOf(facts: Facts, { method, results }: Use, claims: ClaimNote[]): FindingDraft[] {
  const { body } = method;
  const key = revisionKey(body.method, body.revision);
  const units = [...new Set(results.flatMap((result) => unitsOfSpecimen(facts, result.specimen)))].sort();
  const [first] = results;
  const common = {
    subjects: [subject('method', body.method), subject('result', String(first!.row))],
    effect: 'cannot be decided' as const,
    mayBeDecided: 'concession' as const,
    units,
  };
  const findings: FindingDraft[] = [];
  const standing = standingOf(facts, revisionSubject({ ...method, kind: 'method', key: body.method }), body.approval);
  const missing = unapproved(standing, { ...common, facts: { method: key } });
  if (missing) findings.push(missing);
  else if (isGood(standing) && isAfter(standing.at, first!.measuredAt)) {
    findings.push({
      ...common,
      rule: 'approved after the measurement',
      facts: { method: key, approvedAt: standing.at, row: String(first!.row), measuredAt: first!.measuredAt },
    });
  } else if (isGood(standing)) claims.push(approvalOf('method', key, standing));
  if (isAfter(body.effectiveFrom, first!.measuredAt)) {
    findings.push({
      ...common,
      rule: 'not yet effective',
      facts: { method: key, effectiveFrom: body.effectiveFrom, row: String(first!.row), measuredAt: first!.measuredAt },
    });
  }
  const superseded = results.find((result) => laterInForce(facts, method, result.measuredAt));
  if (superseded) {
    const later = laterInForce(facts, method, superseded.measuredAt)!.body;
    const laterKey = revisionKey(later.method, later.revision);
    findings.push({
      ...common,
      rule: 'superseded at use',
      facts: {
        method: key,
        by: laterKey,
        effectiveFrom: later.effectiveFrom,
        row: String(superseded.row),
        measuredAt: superseded.measuredAt,
      },
    });
  }
  return findings;
}

export const methodsInForce: Check = {
  code: 'methods-in-force',
  since: 1,
  clause: 'ISO 13485:2016 4.2.4, 8.2.6',
  moment: 'release',
  run(facts) {
    const claims: ClaimNote[] = [];
    const uses = usesOf(facts);
    return {
      findings: uses.flatMap((use) => findingsOf(facts, use, claims)),
      claims,
      basis: {
        methods: uses.map(({ method }) => revisionKey(method.body.method, method.body.revision)).join('; '),
      },
      doesNotApply: uses.length === 0,
    };
  },
};
