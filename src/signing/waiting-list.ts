import { Injectable, type OnModuleDestroy } from '@nestjs/common';
import { stamp } from '../base/clock.js';
import { localDay } from '../base/stamp.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import type { Meaning } from '../dossier/statement.js';
import { Accounts } from '../people/accounts.js';
import { actOf } from '../people/acts.js';
import { authorityFor, type Candidate } from '../people/authority.js';
import { Remembered } from '../store/remembered.js';
import { Store } from '../store/store.js';
import { KeptSignatures } from './kept-signatures.js';
import type { LotSigning } from './lot-ahead.js';
import { OpenSignatures } from './open-signatures.js';
import { type Pending, pendingAmong } from './pending.js';
import { candidatesOn } from './situation.js';
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
export class WaitingList implements OnModuleDestroy {
  private readonly lots: KeptSignatures['lots'];
  private readonly site: Remembered<readonly Pending[]>;

  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    { lots }: KeptSignatures,
  ) {
    this.lots = lots;
    const open = new OpenSignatures(store);
    this.site = new Remembered(open.touches, async (read) => pendingAmong(read, await open.all()));
  }

  /** Everything that waits, needed soonest first; what nobody may sign is listed too, since that is a deadlock. */
  async all(): Promise<Waiting[]> {
    return this.waiting([...(await this.site.of(this.store.read)), ...inLots(await this.lots.all())]);
  }

  /** The same, and of how many lots it may be what was so before: these are being looked at again. */
  async told(): Promise<{ readonly values: Waiting[]; readonly behind: number }> {
    const { values, behind } = await this.lots.asking();
    return { values: await this.waiting([...(await this.site.of(this.store.read)), ...inLots(values)]), behind };
  }

  /** The same in some lots, without the documents of the site. */
  async toldOfLots(lots: readonly string[]): Promise<{ readonly values: Waiting[]; readonly behind: number }> {
    const { values, behind } = await this.lots.toldOf(lots);
    return { values: await this.waiting(inLots(values)), behind };
  }

  /** @param isOver true when nobody wants it any more. */
  async catchUp(isOver: () => boolean): Promise<void> {
    await this.lots.catchUp(isOver);
    if (!isOver()) await this.site.of(this.store.read);
  }

  /** In some lots, without the documents of the site. */
  async ofLots(lots: readonly string[]): Promise<Waiting[]> {
    return this.waiting(inLots(await this.lots.ofLots(lots)));
  }

  /** What a command touched it makes anew at its end: then the next one finds it. */
  async onModuleDestroy(): Promise<void> {
    if (this.store.hasChanged) await this.lots.settle();
  }

  private async waiting(pending: readonly Pending[]): Promise<Waiting[]> {
    const day = localDay(stamp(this.store.clock));
    const candidates = await candidatesOn(this.store.read, await this.accounts.people(), day);
    const whoMay = asked(candidates);
    return pending
      .map((item) => asWaiting(item, whoMay(item)))
      .sort((a, b) => compare(a.neededBy ?? '9999', b.neededBy ?? '9999'));
  }
}

const inLots = (lots: readonly LotSigning[]): Pending[] => lots.flatMap(({ pending }) => pending);

const compare = (a: string, b: string): number => Number(a > b) - Number(a < b);

function asWaiting(pending: Pending, who: readonly string[]): Waiting {
  const { subject, meaning, step } = pending;
  const isOfLotFile = meaning === 'reviewed' || meaning === 'released' || meaning === 'rejected';
  return {
    thing: thingText(isOfLotFile ? { ...subject, digest: null } : subject),
    meaning,
    act: actOf(meaning, subject.kind, step)!.act,
    title: pending.title,
    lot: pending.lot ?? null,
    neededBy: pending.neededBy ?? null,
    units: pending.units ?? [],
    step: step ?? null,
    group: pending.group ?? null,
    who,
  };
}

/** Who may sign what today. Of thousands of signatures most are asked for in one of a few ways. */
function asked(candidates: readonly Candidate[]): (pending: Pending) => readonly string[] {
  const known = new Map<string, readonly string[]>();
  return (pending) => {
    const { subject, meaning, step, only, named, doers, taken } = pending;
    const name = JSON.stringify([subject.kind, meaning, step, only, named, doers, taken]);
    const who = known.get(name) ?? whoMay(pending, candidates);
    known.set(name, who);
    return who;
  };
}

function whoMay(
  { subject, meaning, step, only, named = [], doers, taken }: Pending,
  candidates: readonly Candidate[],
): string[] {
  const act = actOf(meaning, subject.kind, step)!;
  const may = candidates
    .filter(({ code }) => only === undefined || only.includes(code))
    .filter((candidate) => authorityFor(act, candidate, doers, taken).may);
  const asked = may.filter(({ code }) => named.includes(code));
  if (asked.length > 0) return asked.map(({ code }) => code);
  const who = meaning === 'performed' ? withoutOnlyApprover(may, candidates, subject.kind) : may;
  return who.map(({ code }) => code);
}

/** Whoever alone may approve a document is asked for its authorship only when nobody else could write it. */
function withoutOnlyApprover(authors: readonly Candidate[], all: readonly Candidate[], kind: string) {
  const approve = actOf('approved', kind);
  if (!approve) return authors;
  const approvers = all.filter((candidate) => authorityFor(approve, candidate, {}).may);
  const others = authors.filter(({ code }) => approvers.some((approver) => approver.code !== code));
  return others.length > 0 ? others : authors;
}
