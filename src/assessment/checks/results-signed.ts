import type { Facts, RecordedSheet } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { Statement } from '../../dossier/statement.js';
import type { ClaimNote } from '../assessment.js';
import { noteOf, signedOn } from '../signed.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

const unitsOf = (facts: Facts, rows: readonly NumberedResult[]): string[] =>
  [...new Set(rows.flatMap((row) => unitsOfSpecimen(facts, row.specimen)))].sort();

/** How many rows of which sheet, and the first of them. */
const rowsOf = ({ body, digest }: RecordedSheet, rows: readonly NumberedResult[]) => ({
  sheet: digest,
  file: body.file,
  values: String(rows.length),
  row: String(rows[0]!.row),
});

function notPerformed(facts: Facts, sheet: RecordedSheet, rows: readonly NumberedResult[], by: readonly Statement[]) {
  const analysts = [...new Set(rows.map((row) => row.analyst))].sort();
  return analysts
    .filter((analyst) => !by.some(({ person }) => person.code === analyst))
    .map((analyst): FindingDraft => {
      const own = rows.filter((row) => row.analyst === analyst);
      return {
        rule: 'not signed as performed',
        subjects: [subject('result-set', sheet.key), subject('person', analyst)],
        facts: { ...rowsOf(sheet, own), analyst },
        effect: 'cannot be decided',
        units: unitsOf(facts, own),
      };
    });
}

/** Whoever typed a value cannot be the one who checks it. */
function notChecked(facts: Facts, sheet: RecordedSheet, rows: readonly NumberedResult[], by: readonly Statement[]) {
  const typed = rows.filter((row) => row.enteredBy !== '');
  const open = typed.filter((row) => !by.some(({ person }) => person.code !== row.enteredBy));
  return [...new Set(open.map((row) => row.enteredBy))].sort().map((enteredBy): FindingDraft => {
    const own = open.filter((row) => row.enteredBy === enteredBy);
    const claimed = [...new Set(own.map((row) => row.checkedBy))].filter((name) => name !== '').sort();
    return {
      rule: 'typed value not checked',
      subjects: [subject('result-set', sheet.key), subject('person', enteredBy)],
      facts: { ...rowsOf(sheet, own), enteredBy, claimedBy: claimed.join(', ') },
      effect: 'cannot be decided',
      units: unitsOf(facts, own),
    };
  });
}

export const resultsSigned: Check = {
  code: 'results-signed',
  since: 1,
  clause: 'ISO 13485:2016 8.2.6; 21 CFR 11.50, 11.70',
  moment: 'release',
  run(facts) {
    const findings: FindingDraft[] = [];
    const claims: ClaimNote[] = [];
    const rows = currentResults(facts);
    for (const sheet of facts.resultSets.values()) {
      const own = rows.filter((row) => row.evidence === sheet.body.evidence);
      const signed = (meaning: 'performed' | 'checked') =>
        signedOn(facts, revisionSubject({ ...sheet, kind: 'result-set' }), meaning);
      findings.push(...notPerformed(facts, sheet, own, signed('performed')));
      findings.push(...notChecked(facts, sheet, own, signed('checked')));
      for (const { person, at, meaning } of [...signed('performed'), ...signed('checked')]) {
        claims.push(noteOf('result sheet', { file: sheet.body.file, meaning }, { how: 'signed', by: person.code, at }));
      }
    }
    return {
      findings,
      claims,
      basis: { sheets: String(facts.resultSets.size) },
      doesNotApply: rows.length === 0,
    };
  },
};
