import http from 'node:http';
import type { AddressInfo } from 'node:net';
import Provider from 'oidc-provider';

export const CLIENT = 'cell-1';
export const SECRET = 'a-secret-of-the-test';

/** A provider of sign-ins that others wrote, on a port of this machine, with people who sign in by a click. */
export class SignInProvider {
  private constructor(
    private readonly server: http.Server,
    readonly issuer: string,
  ) {}

  /** @param back where it may lead people back. */
  static async start(back: string): Promise<SignInProvider> {
    const server = http.createServer();
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const issuer = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
    const client = {
      ...{ client_id: CLIENT, client_secret: SECRET, redirect_uris: [back] },
      ...{ grant_types: ['authorization_code'], response_types: ['code'] },
    };
    const provider = new Provider(issuer, { clients: [client], pkce: { required: () => true } });
    server.on('request', provider.callback());
    return new SignInProvider(server, issuer);
  }

  /**
   * Goes there as a browser does, and signs in as somebody.
   * @returns the address to which it is led back.
   */
  async letIn(address: string, subject: string): Promise<URL> {
    const cookies = new Map<string, string>();
    let next = new URL(address);
    let body: URLSearchParams | undefined;
    for (let step = 0; step < 12; step++) {
      const answer: Response = await fetch(next, {
        redirect: 'manual',
        headers: { cookie: [...cookies].map(([name, value]) => `${name}=${value}`).join('; ') },
        ...(body ? { method: 'POST', body } : {}),
      });
      for (const cookie of answer.headers.getSetCookie()) {
        const [, name, value] = /^([^=]+)=([^;]*)/.exec(cookie)!;
        cookies.set(name!, value!);
      }
      const location = answer.headers.get('location');
      body = undefined;
      if (location !== null) {
        next = new URL(location, next);
        if (next.origin !== this.issuer) return next;
        continue;
      }
      const page = await answer.text();
      const form = /action="([^"]+)"/.exec(page);
      if (!form) throw new Error(`the provider shows no form: ${page.slice(0, 300)}`);
      next = new URL(form[1]!, next);
      const prompt = /name="prompt" value="(\w+)"/.exec(page)?.[1] ?? 'login';
      body = new URLSearchParams(prompt === 'login' ? { prompt, login: subject, password: 'x' } : { prompt });
    }
    throw new Error('the provider leads around');
  }

  close(): Promise<unknown> {
    this.server.closeAllConnections();
    return new Promise((resolve) => this.server.close(resolve));
  }
}
