import { AppError } from '../base/errors.js';
import { type LedgerEntry, readEntry } from '../ledger/entry.js';
import { ACCOUNT_EVENTS } from '../ledger/event.js';
import { GrowingTree, leafHash } from '../ledger/tree.js';
import type { TrustedTree } from './event-guard.js';
import type { Reads } from './repositories.js';

/** Events from which it follows who may sign, and with what. */
const OF_PEOPLE = [
  ...ACCOUNT_EVENTS,
  ...(['person-key-made', 'passkey-made', 'passkey-ended', 'intake-token-made', 'intake-token-ended'] as const),
];
const TOLD_BY_TYPE: ReadonlySet<string> = new Set(OF_PEOPLE);

/** Texts of other entries are hashed and not read. */
const TELLS = /"type":"(?:event-recorded|statement-signed)"/;

/** Which entries record what: events of lots and of people, and statements on lot files. */
class Recorded {
  readonly eventsOfPeople: number[] = [];
  private readonly events = new Map<string, number[]>();
  private readonly statements = new Map<string, number[]>();

  add(entry: LedgerEntry): void {
    if (entry.type === 'event-recorded') {
      const { event, subject, seq } = entry;
      if (subject.kind === 'lot') put(this.events, subject.key, seq);
      if (TOLD_BY_TYPE.has(event)) this.eventsOfPeople.push(seq);
    } else if (entry.type === 'statement-signed' && entry.subject.kind === 'lot file') {
      put(this.statements, entry.subject.key, entry.seq);
    }
  }

  eventsOf(lot: string): readonly number[] {
    return this.events.get(lot) ?? [];
  }

  statementsOn(lot: string): readonly number[] {
    return this.statements.get(lot) ?? [];
  }
}

function put(places: Map<string, number[]>, lot: string, seq: number): void {
  const known = places.get(lot);
  if (known) known.push(seq);
  else places.set(lot, [seq]);
}

/**
 * Lets nothing be decided on what somebody took away: a hold, a revocation, the loss of a role. Which entries tell of a lot and
 * of people is known from a walk over the whole audit trail, whose root is the one that was left; the rows must be those of
 * these entries, each as it was recorded. The walk is made once in a process, and goes on from where it ended.
 */
export class WholeTrail {
  private tree = new GrowingTree();
  private readonly recorded = new Recorded();
  private walk: Promise<void> = Promise.resolve();

  /** @param trusted the tree that the last change left, held against what is kept outside the database. */
  constructor(
    private readonly read: Reads,
    private readonly trusted: () => Promise<TrustedTree>,
  ) {}

  /** @throws AppError ALTERED where something is gone of what people were given or lost: accounts, roles, keys, passkeys. */
  async demandPeople(): Promise<void> {
    const upTo = await this.known();
    const events = await this.read.events.ofTypes(OF_PEOPLE);
    refuseOthers('account', events, this.recorded.eventsOfPeople, upTo);
  }

  /** @throws AppError ALTERED where something is gone of what befell a lot, or is not as it was recorded. */
  async demandLot(lot: string): Promise<void> {
    const upTo = await this.known();
    const events = await this.read.events.recordedOf({ kind: 'lot', key: lot });
    refuseOthers(`lot ${lot}`, events, this.recorded.eventsOf(lot), upTo);
    const statements = await this.read.signatures.of({ kind: 'lot file', key: lot });
    refuseOthers(`lot file ${lot}`, statements, this.recorded.statementsOn(lot), upTo);
  }

  /** @returns how many entries are known: all that are there when it is asked. */
  private async known(): Promise<number> {
    const turn = this.walk.then(() => this.goOn());
    this.walk = turn.catch(() => undefined);
    await turn;
    return this.tree.size;
  }

  private async goOn(): Promise<void> {
    // A size that somebody made smaller hides nothing that is known already, and nothing else before the first walk.
    if (this.tree.size > 0 && (await this.read.ledger.size()) <= this.tree.size) return;
    const { size, root } = await this.trusted();
    const tree = this.tree.copy();
    const found: LedgerEntry[] = [];
    while (tree.size < size) {
      const page = await this.read.ledger.page(tree.size);
      for (const { seq, body } of page) {
        if (tree.size === size) break;
        if (seq !== tree.size + 1) throw gone(`entry ${tree.size + 1} of the audit trail`);
        tree.add(leafHash(body));
        if (TELLS.test(body)) found.push(readEntry(JSON.parse(body)));
      }
      if (page.length === 0) throw gone(`entry ${tree.size + 1} of the audit trail`);
    }
    if (tree.root() !== root) throw gone('an entry of the audit trail');
    this.tree = tree;
    for (const entry of found) this.recorded.add(entry);
  }
}

/** What came after the walk is left to the next one. */
function refuseOthers(
  what: string,
  rows: readonly { readonly ledgerSeq: number }[],
  entries: readonly number[],
  upTo: number,
): void {
  const found = rows.map(({ ledgerSeq }) => ledgerSeq).filter((seq) => seq <= upTo);
  const there = new Set(found);
  const known = entries.filter((seq) => seq <= upTo);
  const missing = known.find((seq) => !there.has(seq));
  if (missing !== undefined) throw gone(`what entry ${missing} of the audit trail recorded of ${what}`);
  if (found.length !== known.length) throw gone(`what is recorded of ${what}`);
}

const gone = (what: string): AppError =>
  new AppError(
    'ALTERED',
    `${what} is not there as it was recorded: somebody changed the database from outside; run ledger verify`,
  );
