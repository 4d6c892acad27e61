import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { type Check, type FindingDraft, isAfter, subject } from './check.js';

/** When results of a characteristic had to be there, with what makes it the moment; undefined while that is to come. */
function dueMoment(facts: Facts, item: Characteristic): { at: string; what: string } | undefined {
  const { builds, steps } = facts.lot.body;
  if (item.due === 'before-build') {
    const first = builds.map(({ closedAt }) => closedAt).sort((a, b) => Date.parse(a) - Date.parse(b))[0]!;
    return { at: first, what: 'the first build was closed' };
  }
  if (item.due !== 'before-sterilisation') return undefined;
  const sterilised = steps
    .filter(({ step }) => step === 'sterilise')
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at))[0];
  return sterilised && { at: sterilised.at, what: 'the first part was sterilised' };
}

function findingFor(facts: Facts, item: Characteristic, rows: readonly NumberedResult[]): FindingDraft[] {
  const due = dueMoment(facts, item);
  const late = due ? rows.filter((row) => isAfter(row.measuredAt, due.at)) : [];
  if (!due || late.length === 0) return [];
  return [
    {
      rule: 'measured after it was due',
      subjects: [subject('result', String(late[0]!.row)), subject('lot', facts.lot.body.lot)],
      facts: { characteristic: item.characteristic, due: item.due, dueAt: due.at, measuredAt: late[0]!.measuredAt },
      effect: 'blocks release',
      mayBeDecided: 'decision',
      says: `${item.title} is due ${item.due.replace('-', ' ')}; ${late.length} values were measured after ${due.what} at ${timeText(due.at)}, the first at ${timeText(late[0]!.measuredAt)}.`,
      clearedBy: 'Process and quality engineer: decide with the reason why going on before the result did no harm.',
      units: [...new Set(late.flatMap((row) => unitsOfSpecimen(facts, row.specimen)))].sort(),
    },
  ];
}

export const resultsInTime: Check = {
  code: 'results-in-time',
  title: 'Results there when they were due',
  clause: 'ISO 13485:2016 8.2.6',
  moment: 'release',
  asks: 'Was each characteristic that is due before build or sterilisation measured by then?',
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
      basis: early.map(({ title, due }) => `${title}: ${due.replace('-', ' ')}`).join('; '),
      ...(early.length === 0 ? { doesNotApply: 'no characteristic is due before build or sterilisation' } : {}),
    };
  },
};
