import { localDay } from '../base/stamp.js';
import type { Role, Statement } from '../dossier/statement.js';
import type { RecordedEvent } from './event.js';

/** What it reads of an event. */
type RecordedRole = Pick<RecordedEvent, 'event' | 'ledgerSeq'>;

/** Between two entries of the ledger; `to` is null while it lasts. */
interface Span {
  readonly from: number;
  to: number | null;
}

interface DeputySpan extends Span {
  readonly firstDay: string;
  readonly lastDay: string;
}

/** Who held which role when, by the acts of administrators: so a signature can be held against the role that it names. */
export class RolesHeld {
  private readonly roles = new Map<string, Span[]>();
  private readonly deputies = new Map<string, DeputySpan[]>();

  /**
   * @param acts in the order of the ledger; those that are signed by nobody who could are not among them.
   * @returns undefined where nobody has an account, as in a ledger that is only being tried.
   */
  static from(acts: readonly RecordedRole[]): RolesHeld | undefined {
    if (!acts.some(({ event }) => event.type === 'account-made')) return undefined;
    const held = new RolesHeld();
    for (const act of acts) held.follow(act);
    return held;
  }

  private follow({ event, ledgerSeq: at }: RecordedRole): void {
    if (event.type === 'role-given') add(this.roles, keyOf(event.person, event.role), { from: at, to: null });
    if (event.type === 'role-taken') end(this.roles.get(keyOf(event.person, event.role)), at);
    if (event.type === 'deputy-named') {
      const { person, role, deputyFor, from: firstDay, to: lastDay } = event;
      add(this.deputies, keyOf(person, role, deputyFor), { from: at, to: null, firstDay, lastDay });
    }
    if (event.type === 'deputy-ended') end(this.deputies.get(keyOf(event.person, event.role, event.deputyFor)), at);
    if (event.type === 'account-closed') {
      const of = JSON.stringify(event.person).slice(0, -1);
      for (const spans of [this.roles, this.deputies]) {
        for (const [key, own] of spans) if (key.startsWith(`[${of}"`)) end(own, at);
      }
    }
  }

  /** Whether the signer of a statement held its role then, or was deputy of somebody who did. @param at its entry. */
  isHeld({ person: { code, role, deputyFor }, at: utc, offset }: Statement, at: number): boolean {
    const own = this.roles.get(keyOf(deputyFor ?? code, role)) ?? [];
    if (!own.some((span) => covers(span, at))) return false;
    if (deputyFor === null) return true;
    const day = localDay({ utc, offset });
    const deputies = this.deputies.get(keyOf(code, role, deputyFor)) ?? [];
    return deputies.some((span) => covers(span, at) && span.firstDay <= day && day <= span.lastDay);
  }
}

const keyOf = (person: string, role: Role, deputyFor?: string): string => JSON.stringify([person, role, deputyFor]);

const covers = ({ from, to }: Span, at: number): boolean => from <= at && (to === null || at <= to);

function add<S>(spans: Map<string, S[]>, key: string, span: S): void {
  spans.set(key, [...(spans.get(key) ?? []), span]);
}

function end(spans: readonly Span[] | undefined, at: number): void {
  for (const span of spans ?? []) span.to ??= at;
}
