import type { Facts, Recorded } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import { timeText } from '../../dossier/time-text.js';
import type { Method } from '../../kinds/method.js';
import type { ClaimNote } from '../assessment.js';
import { isGood, noteOf, standingOf, unapproved } from '../signed.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { type Check, CONCEDE, type FindingDraft, isAfter, subject } from './check.js';

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
  const missing = unapproved(standing, `Method ${key}`, 'Quality engineer', { ...common, facts: { method: key } });
  if (missing) findings.push(missing);
  else if (isGood(standing) && isAfter(standing.at, first!.measuredAt)) {
    findings.push({
      ...common,
      rule: 'approved after the measurement',
      facts: { method: key, approvedAt: standing.at, measuredAt: first!.measuredAt },
      says: `Method ${key} was approved at ${timeText(standing.at)}; result ${first!.row} was measured by it at ${timeText(first!.measuredAt)}.`,
      clearedBy: `Analyst: repeat the measurement by the approved method. ${CONCEDE}`,
    });
  } else if (isGood(standing)) claims.push(noteOf(`approval of method ${key}`, standing));
  if (isAfter(body.effectiveFrom, first!.measuredAt)) {
    findings.push({
      ...common,
      rule: 'not yet effective',
      facts: { method: key, effectiveFrom: body.effectiveFrom, measuredAt: first!.measuredAt },
      says: `Method ${key} is effective from ${timeText(body.effectiveFrom)}; result ${first!.row} was measured by it at ${timeText(first!.measuredAt)}.`,
      clearedBy: 'Analyst: name the revision that was used, or repeat the measurement.',
    });
  }
  const superseded = results.find((result) => laterInForce(facts, method, result.measuredAt));
  if (superseded) {
    const later = laterInForce(facts, method, superseded.measuredAt)!.body;
    const laterKey = revisionKey(later.method, later.revision);
    findings.push({
      ...common,
      rule: 'superseded at use',
      facts: { method: key, by: laterKey, effectiveFrom: later.effectiveFrom, measuredAt: superseded.measuredAt },
      says: `Result ${superseded.row} was measured by ${key} at ${timeText(superseded.measuredAt)}; ${laterKey} was in force since ${timeText(later.effectiveFrom)}.`,
      clearedBy: 'Analyst: repeat by the revision in force. Quality engineer: show that both revisions give the same.',
    });
  }
  return findings;
}

export const methodsInForce: Check = {
  code: 'methods-in-force',
  title: 'Test methods in force when they were used',
  clause: 'ISO 13485:2016 4.2.4, 8.2.6',
  moment: 'release',
  asks: 'Was each value measured by a method revision that was approved, effective and not superseded on that day?',
  run(facts) {
    const claims: ClaimNote[] = [];
    const uses = usesOf(facts);
    return {
      findings: uses.flatMap((use) => findingsOf(facts, use, claims)),
      claims,
      basis: uses.map(({ method }) => revisionKey(method.body.method, method.body.revision)).join('; '),
      ...(uses.length === 0 ? { doesNotApply: 'there are no results yet' } : {}),
    };
  },
};
