import { sha256Hex } from '../dossier/canonical.js';
import { openPdf, UnopenedPdf } from '../pdf/reading/open-pdf.js';
import { ATTACHED, Enclosure } from '../records/enclosure.js';
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
    steps.broken(STEP, { code: 'rewritten', facts: { record: nameOf(earlier) } });
  }
  if (file !== undefined) {
    await compareWith(file, enclosure, steps);
    return;
  }
  const count = enclosure.earlier.length;
  if (count === 0) steps.skip(STEP, { code: 'no earlier record' });
  else if (rewritten.length === 0) steps.holds(STEP, { code: 'only grew', facts: { count } });
}

async function compareWith(file: string, enclosure: Enclosure, steps: Steps): Promise<void> {
  const other = await readOther(file, steps);
  if (!other) return;
  const named = enclosure.earlier.find((earlier) => isSame(earlier, other.record));
  if (!named) {
    const isLater = other.lot === enclosure.lot && other.ledger.size > enclosure.ledger.size;
    const code = isLater ? 'issued later' : 'not named';
    steps.broken(STEP, { code, facts: { record: nameOf(other.record), lot: other.lot } });
    return;
  }
  if (named.size !== other.ledger.size || named.root !== other.ledger.root) {
    steps.broken(STEP, { code: 'another audit trail', facts: { record: nameOf(named) } });
    return;
  }
  const { supersedes } = enclosure;
  if (supersedes && isSame(supersedes, named) && supersedes.enclosureSha256 !== other.digest) {
    steps.broken(STEP, { code: 'another contents', facts: { record: nameOf(named) } });
    return;
  }
  if (growsFrom(named, enclosure)) {
    steps.holds(STEP, { code: 'beginning', facts: { record: nameOf(named), size: named.size } });
  }
}

/** What the earlier record says of itself, when file and seal hold. */
async function readOther(file: string, steps: Steps): Promise<(Enclosure & { readonly digest: string }) | undefined> {
  const own = new Steps();
  const enclosure = await readSealed(file, own);
  const fault = own.list.find((step) => step.outcome === 'does not hold');
  if (!fault && enclosure) return enclosure;
  if (fault && fault.code !== 'earlier not reliable') {
    steps.broken(STEP, { code: 'earlier not reliable', facts: { file, fault } });
  }
  const later = own.list.find((step) => step.code === 'of a later version');
  if (!fault && later) steps.notKnown(STEP, { code: 'earlier of a later version', facts: { file, ...later.facts } });
  return undefined;
}

async function readSealed(file: string, steps: Steps): Promise<(Enclosure & { readonly digest: string }) | undefined> {
  try {
    const { bytes, contents, damage } = await openPdf(file);
    if (damage !== undefined) steps.broken('file', { code: 'file is damaged', facts: { damage } });
    const enclosure = readEnclosure(contents, Enclosure, steps)?.enclosure;
    if (!enclosure) return undefined;
    const { record, seal } = enclosure;
    const expected = { draft: record.draft, certificateSha256: seal?.certificateSha256 ?? null };
    await checkSeal(bytes, contents, expected, steps);
    return { ...enclosure, digest: sha256Hex(contents.attachments.get(ATTACHED.enclosure)!) };
  } catch (error) {
    if (error instanceof UnopenedPdf) {
      return steps.broken('file', { code: 'file unreadable', facts: { why: error.why } });
    }
    throw error;
  }
}

interface Named {
  readonly number: string;
  readonly revision: number;
}

const isSame = (a: Named, b: Named): boolean => a.number === b.number && a.revision === b.revision;
/** Of a record only this, whatever else is known of it. */
const nameOf = ({ number, revision }: Named): Named => ({ number, revision });
