import { Injectable } from '@nestjs/common';
import { localDay, stamp } from '../base/clock.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { byDigest, type Meaning, type Statement } from '../dossier/statement.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { Accounts } from '../people/accounts.js';
import { type Act, actOf, authorityFor, type Candidate, needsEachRole } from '../people/authority.js';
import { Store } from '../store/store.js';
import { type Open, OpenSignatures } from './open-signatures.js';
import { candidatesOn, doersBy, takenRoles } from './situation.js';
import { thingText } from './thing.js';

/** One signature that somebody could give now. */
export interface Waiting {
  /** Name of the thing for the sign page and the command. */
  readonly thing: string;
  readonly meaning: Meaning;
  readonly act: string;
  readonly title: string;
  readonly lot: string | null;
  readonly neededBy: string | null;
  /** Serials, for releases. */
  readonly units: readonly string[];
  /** What a release is for. */
  readonly step: ReleaseStep | null;
  /** Findings that are alike are decided together. */
  readonly group: string | null;
  /** Codes of the people who may sign it now. */
  readonly who: readonly string[];
}

/** What waits for a signature, and whose. */
@Injectable()
export class WaitingList {
  private readonly open: OpenSignatures;

  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    current: CurrentAssessments,
  ) {
    this.open = new OpenSignatures(store, current);
  }

  /** Everything that waits, needed soonest first; what nobody may sign is listed too, since that is a deadlock. */
  async all(): Promise<Waiting[]> {
    const open = await this.open.all();
    const signed = await this.store.read.signatures.on(open.map(({ subject }) => subject.digest));
    const statements = byDigest(
      signed.map((one) => one.signed.statement),
      (statement) => statement,
    );
    const candidates = await this.candidates();
    return open
      .map((item) => asWaiting(item, statements.get(item.subject.digest) ?? [], candidates))
      .filter((item) => item !== undefined)
      .sort((a, b) => (a.neededBy ?? '9999').localeCompare(b.neededBy ?? '9999', 'en'));
  }

  private async candidates(): Promise<Candidate[]> {
    const day = localDay(stamp(this.store.clock));
    return candidatesOn(this.store.read, await this.accounts.people(), day);
  }
}

/** Undefined when it was signed already, or when something else has to be signed first. */
function asWaiting(open: Open, signed: readonly Statement[], candidates: readonly Candidate[]): Waiting | undefined {
  const { subject, meaning, step, only } = open;
  const act = actOf(meaning, subject.kind, step)!;
  const same = signed.filter((one) => one.meaning === meaning);
  const eachRole = needsEachRole(act);
  if (only ? same.some(({ person }) => only.includes(person.code)) : isDone(act, same, eachRole)) return undefined;
  if (act.order.includes('authored') && !signed.some((one) => one.meaning === 'performed')) return undefined;
  const doers = { ...open.doers, ...doersBy(signed) };
  const taken = takenRoles(act, signed);
  const may = candidates
    .filter(({ code }) => only === undefined || only.includes(code))
    .filter((candidate) => authorityFor(act, candidate, doers, taken).may);
  const who = (meaning === 'performed' ? withoutOnlyApprover(may, candidates, subject.kind) : may).map(
    ({ code }) => code,
  );
  return {
    thing: thingText(
      meaning === 'reviewed' || meaning === 'released' || meaning === 'rejected'
        ? { ...subject, digest: null }
        : subject,
    ),
    meaning,
    act: act.act,
    title: open.title,
    lot: open.lot ?? null,
    neededBy: open.neededBy ?? null,
    units: open.units ?? [],
    step: step ?? null,
    group: open.group ?? null,
    who,
  };
}

/** Whoever alone may approve a document is asked for its authorship only when nobody else could write it. */
function withoutOnlyApprover(authors: readonly Candidate[], all: readonly Candidate[], kind: string) {
  const approve = actOf('approved', kind);
  if (!approve) return authors;
  const approvers = all.filter((candidate) => authorityFor(approve, candidate, {}).may);
  const others = authors.filter(({ code }) => approvers.some((approver) => approver.code !== code));
  return others.length > 0 ? others : authors;
}

function isDone(act: Act, same: readonly Statement[], eachRole: boolean): boolean {
  if (act.meaning === 'released' || act.meaning === 'rejected') return false;
  if (!eachRole) return same.length > 0;
  const rejected = same.some(({ outcome }) => outcome === 'rejected');
  return rejected || act.roles.every((role) => same.some(({ person }) => person.role === role));
}
