import { AsyncLocalStorage } from 'node:async_hooks';
import { isIPv6 } from 'node:net';
import type { NextFunction, Request, Response } from 'express';
import type { ActingRole } from '../dossier/statement.js';
import type { SentPasskeys } from './passkey-ask.js';

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
  /** Identifiers of the passkeys of the person: where there are any, each act needs one beside the password. */
  readonly passkeys: readonly string[];
  /** The token of a program that asks in their name; absent where they ask themselves. */
  readonly through?: string;
}

/** What a request says of itself, before it is known who is behind it. */
interface Asking {
  /** From where it comes. */
  readonly address: string;
  /** Where the browser takes itself to be: `https://lots.example:8443`, and the host of it. */
  readonly origin: string;
  readonly host: string;
  session?: Session | undefined;
  passkeys?: SentPasskeys | undefined;
}

/** What is known of who asks, shared by everything that answers one request: guard, handler, and the page of an error. */
const asking = new AsyncLocalStorage<Asking>();

/** Keeps requests apart. It comes first; who asks is found out later, by the guard. */
export function keepApart({ ip = '', protocol, headers }: Request, _response: Response, next: NextFunction): void {
  const known: Asking = {
    address: placeOf(ip),
    get origin() {
      return `${protocol}://${headers.host}`;
    },
    get host() {
      return (headers.host ?? '').replace(/:\d+$/, '');
    },
  };
  asking.run(known, next);
}

/** Whoever has one address of version 6 has all that share its first half. */
const placeOf = (address: string): string => {
  const plain = address.replace(/^::ffff:(?=\d+\.)/, '');
  return isIPv6(plain) ? new URL(`http://[${plain}]`).hostname.slice(1, -1).split(':').slice(0, 4).join(':') : plain;
};

/** Says who is behind the request that is being answered. */
export function identify(session: Session | undefined): void {
  answering().session = session;
}

/** Says what it brought of passkeys. */
export function bring(passkeys: SentPasskeys | undefined): void {
  answering().passkeys = passkeys;
}

function answering(): Asking {
  const known = asking.getStore();
  if (!known) throw new Error('no request is being answered here');
  return known;
}

/** What is known of the request that is being answered; undefined where none is: at the machine itself. */
export const currentRequest = (): Asking | undefined => asking.getStore();

/** The session of the request that is being answered; undefined when nobody is signed in. */
export const currentSession = (): Session | undefined => asking.getStore()?.session;

/** From where the request comes that is being answered; undefined where none is: at the machine itself. */
export const currentAddress = (): string | undefined => asking.getStore()?.address;
