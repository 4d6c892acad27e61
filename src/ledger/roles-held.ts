import { localDay } from '../base/stamp.js';
import type { Role, Statement } from '../dossier/statement.js';
import type { Event, RecordedEvent } from './event.js';

const QUALITY_AND_LAW: readonly Role[] = ['quality engineer', 'regulatory'];

/** Acts that the audit trail keeps as events, each with the roles of which whoever acts needs one. */
export const ROLES_OF_ACTS = {
  'hold-placed': ['operator', 'analyst', 'process engineer', 'quality engineer', 'releaser', 'regulatory'],
  'hold-lifted': QUALITY_AND_LAW,
  'release-revoked': ['releaser', 'quality engineer', 'regulatory'],
  'document-withdrawn': ['process engineer', 'quality engineer', 'regulatory'],
  'verdict-changes-seen': ['quality engineer'],
  'legal-hold-placed': QUALITY_AND_LAW,
  'legal-hold-lifted': ['regulatory'],
  // Two people: one of each role.
  'evidence-redacted': QUALITY_AND_LAW,
} as const satisfies Partial<Record<Event['type'], readonly Role[]>>;

/** Where in the ledger something happened, and when. */
type Place = Pick<RecordedEvent, 'ledgerSeq' | 'at' | 'offset'>;

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
    if (!this.hasOwn(deputyFor ?? code, role, at)) return false;
    if (deputyFor === null) return true;
    const deputies = this.deputies.get(keyOf(code, role, deputyFor)) ?? [];
    return deputies.some((span) => coversDay(span, at, localDay({ utc, offset })));
  }

  /** Whether somebody held one of these roles when they acted, in their own right or as a deputy. */
  hasOneOf(person: string, roles: readonly Role[], { ledgerSeq, at: utc, offset }: Place): boolean {
    if (roles.some((role) => this.hasOwn(person, role, ledgerSeq))) return true;
    const day = localDay({ utc, offset });
    return [...this.deputies].some(([key, spans]) => {
      const [code, role, deputyFor] = JSON.parse(key) as [string, Role, string];
      if (code !== person || !roles.includes(role) || !this.hasOwn(deputyFor, role, ledgerSeq)) return false;
      return spans.some((span) => coversDay(span, ledgerSeq, day));
    });
  }

  private hasOwn(person: string, role: Role, at: number): boolean {
    return (this.roles.get(keyOf(person, role)) ?? []).some((span) => covers(span, at));
  }
}

/** Whether each of two people held another one of the roles that take bytes of evidence away. */
export function mayRedact([first, second]: readonly string[], place: Place, roles: RolesHeld): boolean {
  const [one, other] = ROLES_OF_ACTS['evidence-redacted'];
  const asIn = (person: string | undefined, role: Role | undefined) =>
    person !== undefined && role !== undefined && roles.hasOneOf(person, [role], place);
  return (asIn(first, one) && asIn(second, other)) || (asIn(first, other) && asIn(second, one));
}

const keyOf = (person: string, role: Role, deputyFor?: string): string => JSON.stringify([person, role, deputyFor]);

const covers = ({ from, to }: Span, at: number): boolean => from <= at && (to === null || at <= to);

const coversDay = (span: DeputySpan, at: number, day: string): boolean =>
  covers(span, at) && span.firstDay <= day && day <= span.lastDay;

function add<S>(spans: Map<string, S[]>, key: string, span: S): void {
  spans.set(key, [...(spans.get(key) ?? []), span]);
}

function end(spans: readonly Span[] | undefined, at: number): void {
  for (const span of spans ?? []) span.to ??= at;
}
