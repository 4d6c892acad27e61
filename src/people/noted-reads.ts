import {
  type CallHandler,
  type ExecutionContext,
  Injectable,
  type NestInterceptor,
  StreamableFile,
} from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { Request } from 'express';
import { type Observable, tap } from 'rxjs';
import { systemClock } from '../base/clock.js';
import type { NotedRead } from '../store/read-log.js';
import { Store } from '../store/store.js';
import { Access, NoCases } from '../web/access.js';
import { currentSession } from '../web/identity.js';
import { SAFE_METHODS } from '../web/request-checks.js';

const LONGEST_KEY = 400;
/** A line names so many lots and cases, and counts the others. */
const MOST_SHOWN = 500;
/** What answers with whatever a name leads to, cases among it. */
const SEARCHES = /^\/(?:find|impact)(?:\.\w+)?$|^\/api\/v1\/(?:trace|impact)\/[^/]+$/;
const SIGNING: ReadonlySet<string> = new Set(['/sign', '/api/v1/sign']);
/** How pages lead to a lot or a case, and how answers for programs call them. */
const LEADS_TO = /"\/(?:lots|sheets|prepare\/new)\/([^"/?#&]+)/g;
const CALLED: ReadonlySet<string> = new Set(['lot', 'case']);

/**
 * Notes who read what: every answer to somebody who is signed in, but for those of handlers that say that they name no case
 * and for forms that lead on. It is noted before the answer leaves; what was asked for and refused is noted too.
 */
@Injectable()
export class NotedReads implements NestInterceptor {
  constructor(
    private readonly reflector: Reflector,
    private readonly store: Store,
  ) {}

  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    const handler = context.getHandler();
    const session = currentSession();
    const isFree = this.reflector.get(NoCases, handler) || this.reflector.get(Access, handler) === 'everyone';
    if (!session || isFree) return next.handle();
    const request = context.switchToHttp().getRequest<Request>();
    const note = (answer: unknown) => this.store.reads.note(readBy(request, session.person, answer));
    const reads = SAFE_METHODS.has(request.method);
    return next.handle().pipe(
      tap({
        next: (answer) => {
          if (reads || (answer !== '' && answer !== undefined)) note(answer);
        },
        error: () => {
          if (reads) note(undefined);
        },
      }),
    );
  }
}

function readBy({ params, query, path, originalUrl }: Request, person: string, answer: unknown): NotedRead {
  const [kind, key] = keyOf({ params, query, path, originalUrl });
  const shown = [...shownIn(answer)].filter((name) => name !== key);
  return {
    ...{ at: systemClock.now().toISOString(), person, kind, key: key.slice(0, LONGEST_KEY), page: pageOf(originalUrl) },
    ...(shown.length === 0 ? {} : { shown: shown.slice(0, MOST_SHOWN) }),
    ...(shown.length > MOST_SHOWN ? { more: shown.length - MOST_SHOWN } : {}),
  };
}

/** What of the data of cases a request asks to see. */
function keyOf({
  params,
  query,
  path,
  originalUrl,
}: Pick<Request, 'params' | 'query' | 'path' | 'originalUrl'>): [NotedRead['kind'], string] {
  const named = (value: unknown): value is string => typeof value === 'string' && value !== '';
  if (named(params.lot)) return ['lot', params.lot];
  if (named(params.sha256)) return ['evidence', params.sha256];
  const searched = params.id ?? query.id;
  if (SEARCHES.test(path) && named(searched)) return ['search', searched];
  const [thing] = [query.thing].flat();
  if (SIGNING.has(path) && named(thing)) return ['signing', thing];
  return ['page', decoded(originalUrl.split('?')[1] ?? '')];
}

const pageOf = (address: string): string => address.split('?')[0]!.slice(0, LONGEST_KEY);

/** Lots and cases that an answer names. */
function shownIn(answer: unknown): Set<string> {
  const found = new Set<string>();
  if (typeof answer === 'string') for (const [, name] of answer.matchAll(LEADS_TO)) found.add(decoded(name!));
  else if (!(answer instanceof StreamableFile)) collect(answer, found);
  return found;
}

function collect(value: unknown, found: Set<string>): void {
  if (typeof value !== 'object' || value === null) return;
  for (const [name, item] of Object.entries(value)) {
    if (CALLED.has(name) && typeof item === 'string') found.add(item);
    else collect(item, found);
  }
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
