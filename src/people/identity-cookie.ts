import type { CookieOptions, Request, Response } from 'express';

/**
 * The cookie that carries the token of a session. Scripts cannot read it, and no other site can have it sent. Over TLS
 * it has the prefix with which browsers take it from this host alone (RFC 6265bis, 4.1.3.2). Browsers do not tell the
 * ports of one machine apart, so the name tells two installations apart.
 */
export class IdentityCookie {
  /** @param fingerprint of the installation key. */
  constructor(private readonly fingerprint: string) {}

  read(request: Request): string | undefined {
    return cookieIn(request, this.name(request));
  }

  write(request: Request, response: Response, token: string): void {
    response.cookie(this.name(request), token, optionsFor(request));
  }

  clear(request: Request, response: Response): void {
    response.clearCookie(this.name(request), optionsFor(request));
  }

  private name({ secure }: Request): string {
    return `${secure ? '__Host-' : ''}lotwright-${this.fingerprint.slice(0, 8)}`;
  }
}

/** What a browser sent under the name of a cookie. */
export function cookieIn({ headers }: Request, name: string): string | undefined {
  for (const pair of (headers.cookie ?? '').split(';')) {
    const [key, value] = pair.trim().split('=');
    if (key === name && value) return value;
  }
  return undefined;
}

const optionsFor = ({ secure }: Request): CookieOptions => ({ httpOnly: true, sameSite: 'strict', path: '/', secure });
