import { AsyncLocalStorage } from 'node:async_hooks';
import type { Session } from '../signing/sessions.js';

/** Set for everything that answers one request of a person who is signed in. */
const sessions = new AsyncLocalStorage<Session>();

/** Runs `work`, and whatever it starts, for the person of this session. */
export function runAs<T>(session: Session | undefined, work: () => T): T {
  return session === undefined ? work() : sessions.run(session, work);
}

/** The session of the request that is being answered; undefined when nobody is signed in. */
export const currentSession = (): Session | undefined => sessions.getStore();
