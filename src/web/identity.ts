import { AsyncLocalStorage } from 'node:async_hooks';
import type { Role } from '../dossier/statement.js';

/** A role in which a person acts on a day: their own, or that of the person whose deputy they are. */
export interface ActingRole {
  readonly role: Role;
  readonly deputyFor: string | null;
}

/** Who is behind a request. */
export interface Session {
  readonly person: string;
  readonly name: string;
  readonly acting: readonly ActingRole[];
  /** Comes back in every form: a page of another site cannot know it. */
  readonly csrf: string;
  readonly endsAt: string;
  /** SHA-256 of its token: names it in the store. */
  readonly id: string;
}

/** Set for everything that answers one request of a person who is signed in. */
const sessions = new AsyncLocalStorage<Session>();

/** Runs `work`, and whatever it starts, for the person of this session. */
export function runAs<T>(session: Session | undefined, work: () => T): T {
  return session === undefined ? work() : sessions.run(session, work);
}

/** The session of the request that is being answered; undefined when nobody is signed in. */
export const currentSession = (): Session | undefined => sessions.getStore();
