import type { ReleaseStep } from '../dossier/release-step.js';
import { byDigest, type Meaning, type Role, type SignedSubject, type Statement } from '../dossier/statement.js';
import { type Act, actOf, needsEachRole } from '../people/acts.js';
import type { Doers } from '../people/authority.js';
import type { Reads } from '../store/repositories.js';
import { doersBy, takenRoles } from './situation.js';

/** A signature that is missing, before it is known who could give it. */
export interface Open {
  readonly subject: SignedSubject;
  readonly meaning: Meaning;
  readonly title: string;
  readonly lot?: string;
  readonly neededBy?: string | null;
  readonly units?: readonly string[];
  /** Of a release. */
  readonly step?: ReleaseStep;
  readonly group?: string;
  readonly doers?: Doers;
  /** For results: only these people measured them. */
  readonly only?: readonly string[];
  /** Whom a file names for it: they are asked before others, who might sign it too. */
  readonly named?: readonly string[];
}

/** One that is missing now, and whom it may not be of: not yet who may give it, which depends on the day. */
export interface Pending extends Omit<Open, 'doers'> {
  readonly doers: Doers;
  /** Roles that have signed already, where the act needs one of each. */
  readonly taken: readonly Role[];
}

/** Of what has to be signed sooner or later, what was not signed yet and is not before its turn. */
export async function pendingAmong(read: Reads, open: readonly Open[]): Promise<Pending[]> {
  const signed = await read.signatures.on(open.map(({ subject }) => subject.digest));
  const statements = byDigest(
    signed.map((one) => one.signed.statement),
    (statement) => statement,
  );
  return open.flatMap((item) => pending(item, statements.get(item.subject.digest) ?? []) ?? []);
}

/** Undefined when it was signed already, or when something else has to be signed first. */
function pending(open: Open, signed: readonly Statement[]): Pending | undefined {
  const { subject, meaning, step, only } = open;
  const act = actOf(meaning, subject.kind, step)!;
  const same = signed.filter((one) => one.meaning === meaning);
  const eachRole = needsEachRole(act);
  if (only ? same.some(({ person }) => only.includes(person.code)) : isDone(act, same, eachRole)) return undefined;
  if (act.order.includes('authored') && !signed.some((one) => one.meaning === 'performed')) return undefined;
  return { ...open, doers: { ...open.doers, ...doersBy(signed) }, taken: takenRoles(act, signed) };
}

function isDone(act: Act, same: readonly Statement[], eachRole: boolean): boolean {
  if (act.meaning === 'released' || act.meaning === 'rejected') return false;
  if (!eachRole) return same.length > 0;
  const rejected = same.some(({ outcome }) => outcome === 'rejected');
  return rejected || act.roles.every((role) => same.some(({ person }) => person.role === role));
}
