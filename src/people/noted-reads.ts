import type { Request } from 'express';
import { systemClock } from '../base/clock.js';
import type { NotedRead } from '../store/read-log.js';

const LONGEST_KEY = 400;
/** What answers with whatever a name leads to, cases among it. */
const SEARCHES = /^\/(?:find|impact(?:\.csv|\.yaml)?|api\/v1\/(?:trace|impact)\/[^/]+)$/;
const SIGNING: ReadonlySet<string> = new Set(['/sign', '/api/v1/sign']);

/** What of the data of cases a request asks to see, or undefined for what shows none. */
export function readBy({ params, query, path, originalUrl }: Request, person: string): NotedRead | undefined {
  const found = (kind: NotedRead['kind'], key: unknown): NotedRead | undefined =>
    typeof key === 'string' && key !== ''
      ? { at: systemClock.now().toISOString(), person, kind, key: key.slice(0, LONGEST_KEY), page: pageOf(originalUrl) }
      : undefined;
  if (params.lot !== undefined) return found('lot', params.lot);
  if (params.sha256 !== undefined) return found('evidence', params.sha256);
  if (SEARCHES.test(path)) return found('search', params.id ?? query.id);
  return SIGNING.has(path) ? found('signing', [query.thing].flat()[0]) : undefined;
}

const pageOf = (address: string): string => address.split('?')[0]!.slice(0, LONGEST_KEY);
