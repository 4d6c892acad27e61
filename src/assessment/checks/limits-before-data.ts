import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import type { Characteristic, Specification } from '../../kinds/specification.js';
import type { ClaimNote } from '../assessment.js';
import { approvalOf } from '../signed.js';
import { currentResults, type NumberedResult } from '../specimens.js';
import { allUnits, type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** What decides a verdict; the rest of a characteristic is words. */
function deciding(item: Characteristic): string {
  const { ucum, lower, upper, target, decision, rounding, plan, averaging, replicates, measuredOn, zoneClass, method } =
    item;
  const given = {
    ucum,
    lower,
    upper,
    target,
    decision,
    rounding,
    plan,
    averaging,
    replicates,
    measuredOn,
    zoneClass,
    method,
  };
  return canonicalJson(Object.fromEntries(Object.entries(given).filter(([, value]) => value !== undefined)));
}

/**
 * Since when these limits stood: from the day on which this revision, or an earlier one that says the same, was taken
 * in, or was approved elsewhere on a signed original that came with it.
 */
function stoodSince(facts: Facts, item: Characteristic): string {
  const same = facts.earlierSpecifications.filter(({ body }) =>
    body.characteristics.some(
      (earlier) => earlier.characteristic === item.characteristic && deciding(earlier) === deciding(item),
    ),
  );
  const moments = [facts.specification, ...same].flatMap(({ recordedAt, body }) => [recordedAt, ...originalAt(body)]);
  return moments.sort((a, b) => Date.parse(a) - Date.parse(b))[0]!;
}

/** The date of a signed original, which is evidence of this lot file; a mere claim has none. */
const originalAt = ({ approval }: Specification): string[] => (approval?.original === undefined ? [] : [approval.at]);

function findingFor(facts: Facts, item: Characteristic, results: readonly NumberedResult[]): FindingDraft[] {
  const since = stoodSince(facts, item);
  const before = results.filter((row) => Date.parse(row.measuredAt) < Date.parse(since));
  const first = [...before].sort((a, b) => Date.parse(a.measuredAt) - Date.parse(b.measuredAt))[0];
  if (!first) return [];
  const { specification, revision } = facts.specification.body;
  return [
    {
      rule: 'limits recorded after the data',
      subjects: [subject('specification', specification), subject('result', String(first.row))],
      facts: {
        characteristic: item.characteristic,
        title: item.title,
        specification: revisionKey(specification, revision),
        recordedAt: since,
        values: String(before.length),
        row: String(first.row),
        measuredAt: first.measuredAt,
      },
      effect: 'blocks release',
      mayBeDecided: 'decision',
      units: allUnits(facts),
    },
  ];
}

function originalClaim({ specification: { body } }: Facts): ClaimNote[] {
  const [at] = originalAt(body);
  if (at === undefined) return [];
  const key = revisionKey(body.specification, body.revision);
  return [approvalOf('specification', key, { how: 'approved elsewhere', by: body.approval!.by, at })];
}

export const limitsBeforeData: Check = {
  code: 'limits-before-data',
  since: 1,
  clause: 'ISO 13485:2016 7.3.6, 8.2.6',
  moment: 'release',
  run(facts) {
    const results = currentResults(facts);
    return {
      findings: facts.specification.body.characteristics.flatMap((item) =>
        findingFor(
          facts,
          item,
          results.filter((row) => row.characteristic === item.characteristic),
        ),
      ),
      claims: originalClaim(facts),
      basis: { recordedAt: facts.specification.recordedAt },
      doesNotApply: results.length === 0,
    };
  },
};
