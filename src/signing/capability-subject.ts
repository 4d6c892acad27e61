import { CapabilityStatement } from '../assessment/family/statement.js';
import { answeredByReview } from '../assessment/family/study-notes.js';
import { NotFoundError } from '../base/errors.js';
import { parseForm } from '../base/later-form.js';
import { capabilitySubject } from '../dossier/signable.js';
import { statementAddress } from '../report/page-addresses.js';
import { studyNoteText } from '../report/phrases/study-notes.js';
import { THINGS } from '../report/phrases/things.js';
import { studyRows } from '../report/study-rows.js';
import type { Reads } from '../store/repositories.js';
import type { Signable } from './signable.js';
import type { Thing } from './thing.js';

/**
 * What was stated of a family, line by line as its paper says it. It never changes: what changes is what comes after it.
 * @throws NotFoundError when nothing was stated so.
 */
export async function capabilityToSign({ capabilityStatements }: Reads, { key, revision }: Thing): Promise<Signable> {
  const at = key.indexOf(':');
  const [family, characteristic] = [key.slice(0, at), key.slice(at + 1)];
  const found =
    revision === null
      ? await capabilityStatements.latest(family, characteristic)
      : await capabilityStatements.numbered(family, characteristic, revision);
  if (!found) throw new NotFoundError(THINGS.capability(key, revision), family);
  const { input, study } = parseForm(`statement ${found.digest}`, CapabilityStatement, JSON.parse(found.body));
  return {
    subject: capabilitySubject(found),
    title: THINGS.capability(key, found.number),
    lot: null,
    shows: studyRows(input, study),
    page: statementAddress(family, characteristic, found.number),
    doers: {},
    asksWhy: answeredByReview(study.notes).map(studyNoteText),
  };
}
