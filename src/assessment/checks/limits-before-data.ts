import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import { currentResults, type NumberedResult } from '../specimens.js';
import { allUnits, type Check, type FindingDraft, subject } from './check.js';

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

/** When these limits were first on record: with this revision, or with an earlier one that says the same. */
function onRecordSince(facts: Facts, item: Characteristic): string {
  const same = facts.earlierSpecifications.filter(({ body }) =>
    body.characteristics.some(
      (earlier) => earlier.characteristic === item.characteristic && deciding(earlier) === deciding(item),
    ),
  );
  const moments = [facts.specification, ...same].map((revision) => revision.recordedAt);
  return moments.sort((a, b) => Date.parse(a) - Date.parse(b))[0]!;
}

function findingFor(facts: Facts, item: Characteristic, results: readonly NumberedResult[]): FindingDraft[] {
  const since = onRecordSince(facts, item);
  const before = results.filter((row) => Date.parse(row.measuredAt) < Date.parse(since));
  const first = [...before].sort((a, b) => Date.parse(a.measuredAt) - Date.parse(b.measuredAt))[0];
  if (!first) return [];
  const { specification, revision } = facts.specification.body;
  return [
    {
      rule: 'limits recorded after the data',
      subjects: [subject('specification', specification), subject('result', String(first.row))],
      facts: { characteristic: item.characteristic, recordedAt: since, measuredAt: first.measuredAt },
      effect: 'blocks release',
      mayBeDecided: 'decision',
      says:
        `The limits of ${item.title} came in with ${revisionKey(specification, revision)} at ${timeText(since)}, after ` +
        `${before.length} values were measured; the first, result ${first.row}, at ${timeText(first.measuredAt)}.`,
      clearedBy: 'Process and quality engineer: decide with the reason why these limits were not chosen by the data.',
      units: allUnits(facts),
    },
  ];
}

export const limitsBeforeData: Check = {
  code: 'limits-before-data',
  title: 'Limits not changed after the data',
  clause: 'ISO 13485:2016 7.3.6, 8.2.6',
  moment: 'release',
  asks: 'Were limits, decision rule and plan of each characteristic on record before its first value was measured?',
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
      basis: `specification on record since ${timeText(facts.specification.recordedAt)}`,
      ...(results.length === 0 ? { doesNotApply: 'there are no results yet' } : {}),
    };
  },
};
