import type { Route } from './routes.js';

/**
 * Whether a request is for one of these routes. Addresses are compared as Express does, without regard to case or a slash
 * at the end.
 */
export function patternsOf(routes: readonly Route[]): (method: string, path: string) => boolean {
  const patterns = routes.map(({ method, path }) => ({
    method,
    pattern: new RegExp(`^${path.replaceAll(/:\w+/g, '[^/]+')}/?$`, 'i'),
  }));
  return (asked, at) => patterns.some(({ method, pattern }) => method === asked && pattern.test(at));
}
