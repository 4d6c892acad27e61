import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { readFacts } from '../../src/dossier/facts.js';
import { lotFileSubject } from '../../src/dossier/signable.js';
import type { Meaning, Role } from '../../src/dossier/statement.js';
import { assembleDossier } from '../../src/store/assemble-dossier.js';
import type { Services } from './services.js';

/** Version of rules that assessed before an upgrade. */
export const EARLIER_RULES = '0123456789ab';

/**
 * Freezes and assesses a lot as a program with other rules did: what these rules say, changed in one thing.
 * @returns digest of the lot file.
 */
export async function assessAsEarlier(
  { store }: Services,
  lot: string,
  change: (assessment: Assessment) => void = () => undefined,
): Promise<string> {
  const frozen = await assembleDossier(store.read, lot, store.folder.demo);
  const texts = new Map([...frozen.parts].map(([sha256, { text }]) => [sha256, text]));
  const assessment = assess(readFacts(frozen.dossier, texts), EARLIER_RULES);
  change(assessment);
  await store.change('local:earlier', async (writer) => {
    await writer.recordDossier(lot, frozen.digest, frozen.body, frozen.parts);
    await writer.recordAssessment(lot, frozen.digest, 'Lotwright of an earlier day', canonicalJson(assessment));
  });
  return frozen.digest;
}

/** What somebody signed on a lot file in those days. */
export async function signAsEarlier(
  { store }: Services,
  lot: string,
  dossier: string,
  { meaning, role, units = [] }: { meaning: Meaning; role: Role; units?: readonly string[] },
): Promise<void> {
  const statement = {
    format: 1 as const,
    meaning,
    subjects: [lotFileSubject(lot, dossier)],
    beside: [],
    units: [...units],
    outcome: null,
    reason: null,
    person: { code: 'P-X', name: 'Xenia Example', role, deputyFor: null },
    at: store.clock.now().toISOString(),
    offset: '+00:00',
    installation: store.key.fingerprint,
    demo: store.folder.demo,
  };
  const text = canonicalJson(statement);
  const signed = { statement, digest: sha256Hex(text), signature: store.key.sign(text).toString('base64') };
  await store.change('person:P-X', (writer) => writer.recordSignature(signed));
}
