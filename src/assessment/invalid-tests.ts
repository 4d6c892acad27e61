import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { Statement } from '../dossier/statement.js';
import type { InvalidTest } from '../kinds/lot-after-build.js';
import { findingId, subject } from './checks/check.js';
import type { FindingDraft } from './checks/finding-draft.js';
import { signedOn } from './signed.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from './specimens.js';

/** Code of the check that asks whether repeated tests were decided; part of the identity of what is signed. */
export const REPEATS_CHECK = 'repeats-decided';

/** A result that the lot file calls invalid, what has to be signed for it, and who did. */
export interface DeclaredInvalid {
  readonly test: InvalidTest;
  readonly result: NumberedResult;
  readonly finding: FindingDraft;
  /** The signature of a second person; without one the result stays in the acceptance set. */
  readonly signed: Statement | undefined;
}

/**
 * Results that are said to come from invalid tests (docs/trade.md 4.4): the cause was seen in the test itself, and a
 * second person, neither the analyst nor who typed it nor who saw it, signs the decision. Only then do they leave the
 * set.
 */
export function declaredInvalid(facts: Facts): DeclaredInvalid[] {
  const declared = facts.lot.body.invalidTests ?? [];
  if (declared.length === 0) return [];
  const results = currentResults(facts);
  return declared.flatMap((test) => {
    const { specimen, piece = '', characteristic, replicate } = test.result;
    const result = results.find(
      (row) =>
        row.specimen === specimen &&
        row.piece === piece &&
        row.characteristic === characteristic &&
        Number(row.replicate) === replicate,
    );
    if (!result) return [];
    const finding = findingFor(facts, test, result);
    const parties = [result.analyst, result.enteredBy, test.seenBy];
    const signed = signedOn(facts, { digest: findingId(facts, REPEATS_CHECK, finding) }, 'decided').find(
      ({ outcome, person }) => outcome === 'accepted' && !parties.includes(person.code),
    );
    return [{ test, result, finding, signed }];
  });
}

function findingFor(facts: Facts, test: InvalidTest, result: NumberedResult): FindingDraft {
  return {
    rule: 'invalid test not decided',
    subjects: [subject('result', String(result.row)), subject('specimen', result.specimen)],
    facts: {
      row: String(result.row),
      characteristic: result.characteristic,
      specimen: result.specimen,
      piece: result.piece,
      replicate: result.replicate,
      evidence: result.evidence,
      line: result.line,
      value: result.value,
      cause: test.cause,
      parties: canonicalJson([...new Set([result.analyst, result.enteredBy, test.seenBy])].filter(Boolean)),
    },
    effect: 'cannot be decided',
    units: unitsOfSpecimen(facts, result.specimen),
    mayBeDecided: 'decision',
  };
}
