import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import { readFacts } from '../../src/dossier/facts.js';
import { lotFileSubject } from '../../src/dossier/signable.js';
import type { Meaning, Role } from '../../src/dossier/statement.js';
import { currentOf } from '../../src/ledger/person-keys.js';
import { assembleDossier } from '../../src/store/assemble-dossier.js';
import { withPens } from './pens.js';
import { signedBy, TestPerson } from './person-keys.js';
import type { Services } from './services.js';

/** Version of rules that assessed before an upgrade. */
export const EARLIER_RULES = '0123456789ab';

/** A lot as it stands, and what a program with other rules says of it: what these rules say, changed in one thing. */
export async function earlierAssessment(
  { store }: Services,
  lot: string,
  change: (assessment: Assessment) => void = () => undefined,
) {
  const frozen = await assembleDossier(store.read, lot, store.folder.demo);
  const texts = new Map([...frozen.parts].map(([sha256, { text }]) => [sha256, text]));
  const assessment = assess(readFacts(frozen.dossier, texts), EARLIER_RULES);
  change(assessment);
  return { frozen, assessment };
}

/**
 * Freezes and assesses a lot as a program with other rules did.
 * @returns digest of the lot file.
 */
export async function assessAsEarlier(
  services: Services,
  lot: string,
  change?: (assessment: Assessment) => void,
): Promise<string> {
  const { frozen, assessment } = await earlierAssessment(services, lot, change);
  await services.store.change('local:earlier', async (change) => {
    await change.lotFiles.add(lot, frozen.digest, frozen.body, frozen.parts);
    await change.assessments.add(lot, frozen.digest, 'Lotwright of an earlier day', assessment);
  });
  return frozen.digest;
}

/** Rules of those days that failed the first implant by the counts of the lot. */
export function failByCounts(assessment: Assessment): void {
  const [unit] = assessment.units;
  const check = assessment.checks.find(({ code }) => code === 'counts-balance')!;
  const effect = 'does not conform' as const;
  check.outcome = 'fails';
  check.findings = [
    {
      id: 'ab'.repeat(32),
      rule: 'a rule of those days',
      subjects: [],
      facts: { made: '2' },
      effect,
      units: [unit!.serial],
      mayBeDecided: 'no',
      decision: null,
    },
  ];
  unit!.verdict = effect;
  unit!.releasable = false;
  unit!.releasableFor = [];
  unit!.why = [
    {
      effect,
      check: check.code,
      finding: check.findings[0]!.id,
      mayBeDecided: 'no',
      conceded: false,
      before: 'sterilisation',
    },
  ];
  assessment.releasable = assessment.releasable.filter((serial) => serial !== unit!.serial);
}

/** Somebody who left since. */
const XENIA = new TestPerson('P-X', 'Xenia Example');

/** What somebody signed on a lot file in those days. */
export async function signAsEarlier(
  services: Services,
  lot: string,
  dossier: string,
  { meaning, role, units = [] }: { meaning: Meaning; role: Role; units?: readonly string[] },
): Promise<void> {
  const { store } = services;
  const { digest: assessed } = (await store.read.assessments.latest(lot))!;
  const statement = {
    format: 1 as const,
    meaning,
    subjects: [lotFileSubject(lot, dossier)],
    beside: [{ kind: 'assessment', digest: assessed }],
    units: [...units],
    step: meaning === 'released' ? ('distribution' as const) : null,
    outcome: null,
    reason: null,
    person: { role, deputyFor: null },
    at: store.clock.now().toISOString(),
    offset: '+00:00',
    demo: store.folder.demo,
  };
  await withPens(services, ['P-AD'], async (pens) => {
    await store.change('person:P-AD', (change) =>
      change.events.act({ type: 'role-given', person: XENIA.person, role }, [...pens.values()]),
    );
    await store.change('person:P-X', async (change) => {
      const { keys } = (await change.events.knownKeys()).people;
      if (currentOf(keys, XENIA.person) === undefined) {
        const key = XENIA.named(store.key, [...pens.values()]);
        await change.events.add({
          ...{ type: 'invitation-made' as const, person: XENIA.person, link: key.link!, replaces: null },
          ...{ tokenSha256: key.fingerprint, expiresAt: statement.at, endorsements: key.endorsements },
        });
        await change.events.add({ type: 'person-key-made', ...key });
      }
      const { utc: at } = await change.events.timeToSign();
      await change.signatures.add(signedBy(XENIA, store.key, { ...statement, at }));
    });
  });
}
