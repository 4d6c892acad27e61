import { type Facts, revisionKey } from '../../dossier/facts.js';
import { leftOutResults } from '../acceptance-set.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

const isDestructive = (facts: Facts, { method, methodRevision }: NumberedResult): boolean =>
  facts.methods.get(revisionKey(method, Number(methodRevision)))?.body.destructive === 'destructive';

/** One test: everything that one method measured at one moment, however many values it gave. */
const isOneTest = (a: NumberedResult, b: NumberedResult): boolean =>
  a.method === b.method && Date.parse(a.measuredAt) === Date.parse(b.measuredAt);

/** What was measured on a piece that had been destroyed: each such test once, with the one that destroyed it. */
function afterTheEnd(facts: Facts, rows: readonly NumberedResult[]): FindingDraft[] {
  const first = rows.find((row) => isDestructive(facts, row));
  if (!first) return [];
  const later = rows.filter(
    (row) =>
      !isOneTest(row, first) &&
      (isDestructive(facts, row) || Date.parse(row.measuredAt) > Date.parse(first.measuredAt)),
  );
  return later
    .filter((row, index) => later.findIndex((other) => isOneTest(other, row)) === index)
    .map((row) => ({
      rule: isDestructive(facts, row) ? 'destroyed twice' : 'measured after it was destroyed',
      subjects: [subject('specimen', row.specimen), subject('result', String(row.row))],
      facts: {
        specimen: row.specimen,
        piece: row.piece,
        method: row.method,
        at: row.measuredAt,
        earlierMethod: first.method,
        earlierAt: first.measuredAt,
      },
      effect: 'cannot be decided',
      mayBeDecided: 'decision',
      units: unitsOfSpecimen(facts, row.specimen),
    }));
}

/**
 * A piece is destroyed once: a second test of it is a test of another piece, whose name is missing, or no test at all
 * (docs/trade.md 4.9). A test that was decided to be invalid may have left its piece whole.
 */
export const destroyedOnce: Check = {
  code: 'destroyed-once',
  since: 1,
  clause: 'ISO 13485:2016 7.5.8, 7.5.9, 8.2.6',
  moment: 'release',
  run(facts) {
    const invalid = leftOutResults(facts);
    const pieces = new Map<string, NumberedResult[]>();
    for (const row of currentResults(facts)) {
      if (invalid.has(row.row)) continue;
      // A code holds no blank.
      const name = `${row.specimen} ${row.piece}`;
      const known = pieces.get(name);
      if (known) known.push(row);
      else pieces.set(name, [row]);
    }
    const tested = [...pieces.values()]
      .filter((rows) => rows.some((row) => isDestructive(facts, row)))
      .map((rows) => rows.toSorted((a, b) => Date.parse(a.measuredAt) - Date.parse(b.measuredAt)));
    return {
      findings: tested.flatMap((rows) => afterTheEnd(facts, rows)),
      basis: { pieces: String(tested.length) },
      doesNotApply: tested.length === 0,
    };
  },
};
