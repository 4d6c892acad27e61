import type { NamedEvidence } from '../store/questions.js';
import type { Reads } from '../store/repositories.js';
import type { TraceMatch } from './traced.js';

/** What machines, instruments and suppliers wrote themselves. Names of other files may tell who the patient is. */
const RAW = ['log', 'units of a log', 'results', 'report', 'certificate'];
/** Things of which somebody wants the raw files of all that they were made of, and seldom thousands. */
const OF = ['implant', 'coupon', 'build'];
/** Of which the raw files are those that they name themselves. */
const OWN = ['instrument', 'receipt'];

/** Raw files behind a part: those that what it came from names, and its lot; of an instrument or a receipt its own. Each once. */
export async function rawFilesOf(
  { entries }: Reads,
  { entry, back, forward }: Pick<TraceMatch, 'entry' | 'back' | 'forward'>,
): Promise<readonly Pick<NamedEvidence, 'name' | 'sha256' | 'fileName'>[]> {
  const isOwn = OWN.includes(entry.kind);
  if (!OF.includes(entry.kind) && !isOwn) return [];
  const lots = (forward ?? []).filter(({ kind }) => kind === 'lot');
  const documents = (isOwn ? [entry] : [...lots, entry, ...(back ?? [])]).filter(({ revision }) => revision > 0);
  const named = (await entries.evidenceNamedBy(documents)).filter(({ name }) => RAW.includes(name));
  return [...new Map(named.map((file) => [file.sha256, file])).values()];
}
