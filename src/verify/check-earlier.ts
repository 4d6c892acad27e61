import { AppError } from '../base/errors.js';
import { sha256Hex } from '../dossier/canonical.js';
import { openPdf } from '../pdf/reading/open-pdf.js';
import { ATTACHED, type Enclosure } from '../records/enclosure.js';
import { growsFrom } from './check-ledger.js';
import { checkSeal } from './check-seal.js';
import { readEnclosure } from './read-carried.js';
import { Steps } from './report.js';

const STEP = 'earlier records';

/**
 * Checks that the audit trail under every earlier record of the lot only grew into the one under this record, and, when
 * an earlier record is given, that its head is the one that is named here.
 * @throws BadInputError when the file of the earlier record cannot be opened.
 */
export async function checkEarlier(enclosure: Enclosure, file: string | undefined, steps: Steps): Promise<void> {
  const rewritten = enclosure.earlier.filter((earlier) => !growsFrom(earlier, enclosure));
  for (const earlier of rewritten) {
    steps.broken(STEP, `${nameOf(earlier)}: the audit trail did not only grow since; something in it was changed`);
  }
  if (file !== undefined) {
    await compareWith(file, enclosure, steps);
    return;
  }
  const count = enclosure.earlier.length;
  if (count === 0) steps.skip(STEP, 'this record names none');
  else if (rewritten.length === 0) {
    steps.holds(STEP, `the audit trail under ${count} of them only grew; none was given to compare with`);
  }
}

async function compareWith(file: string, enclosure: Enclosure, steps: Steps): Promise<void> {
  const other = await readOther(file, steps);
  if (!other) return;
  const named = enclosure.earlier.find((earlier) => isSame(earlier, other.record));
  if (!named) {
    const later = other.lot === enclosure.lot && other.ledger.size > enclosure.ledger.size;
    const why = later ? 'it was issued later: name the two files the other way round' : 'this record does not name it';
    steps.broken(STEP, `${nameOf(other.record)} of lot ${other.lot}: ${why}`);
    return;
  }
  if (named.size !== other.ledger.size || named.root !== other.ledger.root) {
    steps.broken(STEP, `${nameOf(named)} was issued under another audit trail: its head is not the one named here`);
    return;
  }
  const { supersedes } = enclosure;
  if (supersedes && isSame(supersedes, named) && supersedes.enclosureSha256 !== other.digest) {
    steps.broken(STEP, `${nameOf(named)} is not the one that this record supersedes: its contents are others`);
    return;
  }
  if (growsFrom(named, enclosure)) {
    const says = `the audit trail under ${nameOf(named)} (${named.size} entries) is the beginning of the one under this`;
    steps.holds(STEP, `${says}; verify that file by itself for the rest of it`);
  }
}

/** What the earlier record says of itself, when file and seal hold. */
async function readOther(file: string, steps: Steps): Promise<(Enclosure & { readonly digest: string }) | undefined> {
  const own = new Steps();
  const enclosure = await readSealed(file, own);
  const fault = own.list.find((step) => step.outcome === 'does not hold');
  if (!fault && enclosure) return enclosure;
  return steps.broken(STEP, `${file} cannot be relied on: ${fault?.step}: ${fault?.says}`);
}

async function readSealed(file: string, steps: Steps): Promise<(Enclosure & { readonly digest: string }) | undefined> {
  try {
    const { bytes, contents, damage } = await openPdf(file);
    if (damage !== undefined) steps.broken('file', damage);
    const enclosure = readEnclosure(contents, steps);
    if (!enclosure) return undefined;
    const { record, seal } = enclosure;
    const expected = { draft: record.draft, certificateSha256: seal?.certificateSha256 ?? null };
    await checkSeal(bytes, contents, expected, steps);
    return { ...enclosure, digest: sha256Hex(contents.attachments.get(ATTACHED.enclosure)!) };
  } catch (error) {
    if (error instanceof AppError && error.code === 'ALTERED') return steps.broken('file', error.message);
    throw error;
  }
}

interface Named {
  readonly number: string;
  readonly revision: number;
}

const isSame = (a: Named, b: Named): boolean => a.number === b.number && a.revision === b.revision;
const nameOf = ({ number, revision }: Named): string => `record ${number} revision ${revision}`;
