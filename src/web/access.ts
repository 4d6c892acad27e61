import { Reflector } from '@nestjs/core';
import type { Route } from './routes.js';

/**
 * Who may ask a route. What an act needs beyond that is checked by the act, which records its refusal; `administrator` is
 * for pages that only lead to such an act.
 */
export type Asker = 'everyone' | 'signed in' | 'administrator';

/** Stands at every handler: a route without it is refused to everybody. */
export const Access = Reflector.createDecorator<Asker>();

/**
 * At a handler that takes a POST and yet no act of the cell: a calculation, signing out, a password of one's own. An auditor,
 * who reads and changes nothing else, may ask for it too.
 */
export const OpenToAuditors = Reflector.createDecorator<void, true>({ transform: () => true });

/**
 * At a handler whose form is kept as a draft, by its name in the address: what is sent after the session has ended comes
 * back after signing in.
 */
export const KeepsDraft = Reflector.createDecorator<void, true>({ transform: () => true });

/** At a handler that a program may ask with a token of its person, and without a session. Every other refuses tokens. */
export const TakesTokens = Reflector.createDecorator<void, true>({ transform: () => true });

/** At a handler whose answer names no case and no implant: who reads it is not noted. Of every other answer it is. */
export const NoCases = Reflector.createDecorator<void, true>({ transform: () => true });

const reflector = new Reflector();

/**
 * Whether a request is for a change that everyone may ask for: to sign in, or to set a password. Each costs the hash of a
 * password. Addresses are compared as Express does, without regard to case or a slash at the end.
 */
export function changesOfEveryone(routes: readonly Route[]): (method: string, path: string) => boolean {
  const open = routes
    .filter(({ method, handler }) => method !== 'GET' && reflector.get(Access, handler) === 'everyone')
    .map(({ method, path }) => ({ method, pattern: new RegExp(`^${path.replaceAll(/:\w+/g, '[^/]+')}/?$`, 'i') }));
  return (asked, at) => open.some(({ method, pattern }) => method === asked && pattern.test(at));
}
