import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import type { Characteristic } from '../../kinds/specification.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** When results of a characteristic had to be there; undefined while that is to come. */
function dueMoment(facts: Facts, item: Characteristic): string | undefined {
  const { builds, steps } = facts.lot.body;
  if (item.due === 'before-build') {
    return builds.map(({ closedAt }) => closedAt).sort((a, b) => Date.parse(a) - Date.parse(b))[0]!;
  }
  if (item.due !== 'before-sterilisation') return undefined;
  return steps
    .filter(({ step }) => step === 'sterilise')
    .map(({ at }) => at)
    .sort((a, b) => Date.parse(a) - Date.parse(b))[0];
}

function findingFor(facts: Facts, item: Characteristic, rows: readonly NumberedResult[]): FindingDraft[] {
  const dueAt = dueMoment(facts, item);
  const late = dueAt ? rows.filter((row) => isAfter(row.measuredAt, dueAt)) : [];
  if (!dueAt || late.length === 0) return [];
  return [
    {
      rule: 'measured after it was due',
      subjects: [subject('result', String(late[0]!.row)), subject('lot', facts.lot.body.lot)],
      facts: {
        characteristic: item.characteristic,
        title: item.title,
        due: item.due,
        dueAt,
        values: String(late.length),
        measuredAt: late[0]!.measuredAt,
      },
      effect: 'blocks release',
      mayBeDecided: 'decision',
      units: [...new Set(late.flatMap((row) => unitsOfSpecimen(facts, row.specimen)))].sort(),
    },
  ];
}

export const resultsInTime: Check = {
  code: 'results-in-time',
  since: 1,
  clause: 'ISO 13485:2016 8.2.6',
  moment: 'release',
  run(facts) {
    const early = facts.specification.body.characteristics.filter(
      ({ due }) => due === 'before-build' || due === 'before-sterilisation',
    );
    const rows = currentResults(facts);
    return {
      findings: early.flatMap((item) =>
        findingFor(
          facts,
          item,
          rows.filter((row) => row.characteristic === item.characteristic),
        ),
      ),
      basis: { early: canonicalJson(early.map(({ title, due }) => [title, due])) },
      doesNotApply: early.length === 0,
    };
  },
};
