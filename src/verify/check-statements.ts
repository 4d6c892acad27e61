import { createPublicKey } from 'node:crypto';
import type { Facts } from '../dossier/facts.js';
import { covers, faultOfStatement, fingerprintOf, namesText, type SignedStatement } from '../dossier/statement.js';
import type { Enclosure, PublicKey } from '../records/enclosure.js';
import type { Steps } from './report.js';

/** The kind of subject that people review and release. */
const LOT_FILE = 'lot file';

/** What every signature of a record has to agree with. */
type Signed = Pick<Enclosure, 'signatures' | 'keys' | 'demo' | 'lot' | 'dossierSha256'>;

/**
 * Checks the Ed25519 signature of every statement, those on facts of the lot file and those on the lot, under the
 * public keys that the record carries. Whether one of these keys is to be trusted is another step.
 */
export function checkStatements(enclosure: Signed, facts: Facts, steps: Steps): void {
  const falseKey = enclosure.keys.find((key) => fingerprintOfKey(key) !== key.fingerprint);
  if (falseKey) {
    steps.broken('public keys', `the key that is called ${falseKey.fingerprint} is another one, or none`);
    return;
  }
  const statements = statementsOf(enclosure, facts);
  if (statements.length === 0) {
    steps.skip('signatures', 'nobody has signed anything that this record shows');
    return;
  }
  let holding = 0;
  for (const signed of statements) {
    const fault = faultOf(signed, enclosure);
    if (fault === undefined) holding++;
    else steps.broken('signatures', `${nameOfStatement(signed)}: ${fault}`);
  }
  if (holding !== statements.length) return;
  const earlier = statements.filter(
    (signed) => isOnLotFile(signed) && !covers(signed.statement, enclosure.dossierSha256),
  ).length;
  const says = `${holding} of ${holding} belong to what was signed`;
  steps.holds('signatures', earlier === 0 ? says : `${says}; ${earlier} of them on an earlier state of this lot`);
}

/** Statements on facts first, as they were made before those on the lot; one that stands in both is one. */
export function statementsOf({ signatures }: Pick<Enclosure, 'signatures'>, facts: Facts): SignedStatement[] {
  const all = [...facts.signatures, ...signatures];
  return [...new Map(all.map((signed) => [`${signed.digest} ${signed.signature}`, signed])).values()];
}

/** Such as: Quentin Example, released, lot L-1, 2031-05-04T10:00:00Z. */
export function nameOfStatement({ statement }: SignedStatement): string {
  const { person, meaning, subjects, at } = statement;
  return `${person.name}, ${meaning}, ${subjects[0]!.kind} ${namesText(subjects.map(({ key }) => key))}, ${at}`;
}

const isOnLotFile = ({ statement }: SignedStatement): boolean => statement.subjects[0]!.kind === LOT_FILE;

function faultOf(signed: SignedStatement, { keys, demo, lot }: Signed): string | undefined {
  const { installation } = signed.statement;
  const key = keys.find((item) => item.fingerprint === installation);
  if (!key) return `it was signed with key ${installation}, which the record does not carry`;
  if (isOnLotFile(signed) && signed.statement.subjects.some(({ key }) => key !== lot))
    return `it speaks of another lot than ${lot}`;
  if (signed.statement.demo !== demo) return 'demo and real work are mixed';
  return faultOfStatement(signed, key.publicPem);
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
