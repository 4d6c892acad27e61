import { createPublicKey } from 'node:crypto';
import type { Facts } from '../dossier/facts.js';
import { fingerprintOf } from '../dossier/public-key.js';
import { covers, type SignedStatement } from '../dossier/statement.js';
import { chainOf, type KeyChain } from '../ledger/key-chain.js';
import { personKeysOf } from '../ledger/person-keys.js';
import { faultOfSigned, type KnownKeys } from '../ledger/signed-statement.js';
import type { Enclosure, PublicKey } from '../records/enclosure.js';
import { toldActs } from '../records/told-acts.js';
import type { StatementName, VerifyFinding } from '../report/phrases/verify.js';
import type { Steps } from './report.js';

/** The kind of subject that people review and release. */
const LOT_FILE = 'lot file';

/** What every signature of a record has to agree with. */
type Signed = Pick<
  Enclosure,
  'signatures' | 'states' | 'keys' | 'people' | 'demo' | 'lot' | 'dossierSha256' | 'forCase'
>;

/**
 * Checks both Ed25519 signatures of every statement, of its person and of the installation, those on facts of the lot file
 * and those on the lot, under the public keys that the record carries, and what vouches for these keys. Those of a lot file
 * that cannot be read are left out. Whether one of these keys is to be trusted is another step.
 */
export function checkStatements(enclosure: Signed, facts: Facts | undefined, steps: Steps): void {
  const falseKey = enclosure.keys.find((key) => fingerprintOfKey(key) !== key.fingerprint);
  if (falseKey) {
    steps.broken('public keys', { code: 'key is another one', facts: { fingerprint: falseKey.fingerprint } });
    return;
  }
  const { faults } = chainIn(enclosure);
  for (const { fingerprint, fault } of faults) {
    steps.broken('public keys', { code: 'key not of the chain', facts: { fingerprint, fault } });
  }
  const known = knownIn(enclosure);
  for (const { key, fault } of known.people.faults) {
    const { person, name, fingerprint } = key;
    steps.broken('public keys', { code: 'key of a person not endorsed', facts: { person, name, fingerprint, fault } });
  }
  if (faults.length > 0) return;
  const statements = statementsOf(enclosure, facts);
  const acts = toldActs(enclosure, known.people);
  for (const { note, fault } of acts.faults) {
    const { what, by, at } = note;
    steps.broken('signatures', { code: 'act does not hold', facts: { what, by, at, fault } });
  }
  if (statements.length === 0 && acts.count === 0) {
    steps.skip('signatures', { code: 'nobody signed' });
    return;
  }
  let holding = 0;
  for (const signed of statements) {
    const fault = faultOf(signed, enclosure, known);
    if (fault === undefined) holding++;
    else steps.broken('signatures', fault);
  }
  if (holding !== statements.length || acts.faults.length > 0) return;
  const earlier = statements.filter(
    (signed) => isOnLotFile(signed) && !covers(signed.statement, enclosure.dossierSha256),
  ).length;
  steps.holds('signatures', {
    code: 'signatures hold',
    facts: { count: holding, acts: acts.count, earlier, first: enclosure.people[0]!.fingerprint },
  });
}

/** The keys of a record, the one in use first, as they follow each other. */
export function chainIn({ keys }: Pick<Enclosure, 'keys'>): KeyChain {
  const oldestFirst = [...keys.slice(1), ...keys.slice(0, 1)];
  return chainOf(oldestFirst.map((key) => ({ ...key, replaces: key.replaces ?? null })));
}

/** The keys under which statements of a record are checked; what was when, it tells by moments. */
function knownIn(enclosure: Pick<Enclosure, 'keys' | 'people'>): KnownKeys {
  const installation = new Map(chainIn(enclosure).keys.map(({ fingerprint, publicPem }) => [fingerprint, publicPem]));
  const closed = new Map<string, number>();
  const made = enclosure.people.map(({ madeAt, closedAt, ...key }) => {
    if (closedAt !== null) closed.set(key.person, Date.parse(closedAt));
    return { key, at: Date.parse(madeAt) };
  });
  const ended = [...closed].map(([person, at]) => ({ closed: person, at }));
  // Somebody who left vouched for others before: of one moment, what was made comes first.
  const named = [...made, ...ended].sort((a, b) => a.at - b.at);
  return { installation, people: personKeysOf(named, installation) };
}

/** Statements on facts first, as they were made before those on the lot; one that stands in both is one. */
export function statementsOf(
  { signatures }: Pick<Enclosure, 'signatures'>,
  facts: Facts | undefined,
): SignedStatement[] {
  const all = [...(facts?.signatures ?? []), ...signatures];
  return [...new Map(all.map((signed) => [`${signed.digest} ${signed.signature}`, signed])).values()];
}

/** By what a statement is named. */
export function statementName({ statement }: SignedStatement): StatementName {
  const { person, meaning, subjects, at } = statement;
  return { name: person.name, meaning, kind: subjects[0]!.kind, keys: subjects.map(({ key }) => key), at };
}

const isOnLotFile = ({ statement }: SignedStatement): boolean => statement.subjects[0]!.kind === LOT_FILE;

function faultOf(signed: SignedStatement, { demo, lot }: Signed, known: KnownKeys): VerifyFinding | undefined {
  const statement = statementName(signed);
  const { installation, person, at } = signed.statement;
  if (!known.installation.has(installation)) {
    return { code: 'signature with unknown key', facts: { statement, key: installation } };
  }
  if (!known.people.keys.has(person.key)) {
    return { code: 'signature with unknown key', facts: { statement, key: person.key } };
  }
  if (isOnLotFile(signed) && signed.statement.subjects.some(({ key }) => key !== lot)) {
    return { code: 'signature on another lot', facts: { statement, lot } };
  }
  if (signed.statement.demo !== demo) return { code: 'demo and real mixed', facts: { statement } };
  const fault = faultOfSigned(signed, known, Date.parse(at));
  return fault === undefined ? undefined : { code: 'signature does not hold', facts: { statement, fault } };
}

/** Statements and heads are signed with Ed25519 and nothing else. */
function fingerprintOfKey({ publicPem }: PublicKey): string | undefined {
  try {
    const isEd25519 = createPublicKey(publicPem).asymmetricKeyType === 'ed25519';
    return isEd25519 ? fingerprintOf(publicPem) : undefined;
  } catch {
    return undefined;
  }
}
