import * as oauth from 'oauth4webapi';
import { AppError, BadInputError } from '../../base/errors.js';
import { ELSEWHERE } from '../../report/phrases/elsewhere.js';

/** A provider of sign-ins as the surroundings name it. */
export interface ProviderSettings {
  /** As it calls itself. */
  readonly issuer: string;
  readonly client: string;
  /** Absent for a client that has none. */
  readonly secret: string | undefined;
  /** As people call it. */
  readonly name: string;
}

const OWN_HOSTS = ['127.0.0.1', '[::1]', 'localhost'];
const ANSWER_MS = 10_000;
/** What a provider says of itself is asked for again so often; its keys with it. */
const KNOWN_MS = 10 * 60_000;

/** @throws BadInputError for an address that is none, or not over TLS. */
export function providerGiven(): ProviderSettings | undefined {
  const { LOTWRIGHT_OIDC_ISSUER: issuer, LOTWRIGHT_OIDC_CLIENT: client, LOTWRIGHT_OIDC_SECRET: secret } = process.env;
  if (!issuer) return undefined;
  const refuse = (field: string, found: string, expected: string): never => {
    throw new BadInputError([
      { code: 'provider', field, found, expected, remedy: 'name it, and start the service again' },
    ]);
  };
  const url = URL.canParse(issuer)
    ? new URL(issuer)
    : refuse('LOTWRIGHT_OIDC_ISSUER', 'no address', 'the address of a provider');
  const isOwn = url.protocol === 'http:' && OWN_HOSTS.includes(url.hostname);
  if (url.protocol !== 'https:' && !isOwn) refuse('LOTWRIGHT_OIDC_ISSUER', url.protocol, 'https://');
  if (!client)
    return refuse('LOTWRIGHT_OIDC_CLIENT', 'nothing', 'the name under which the provider knows this service');
  return { issuer, client, secret: secret || undefined, name: process.env.LOTWRIGHT_OIDC_NAME || url.host };
}

/** The same for pages, which people need for signing in without it: undefined also where it is not named rightly. */
export function providerOffered(): ProviderSettings | undefined {
  try {
    return providerGiven();
  } catch (error) {
    if (error instanceof BadInputError) return undefined;
    throw error;
  }
}

/** What is kept of a sign-in while its person is at the provider. */
export interface Begun {
  readonly state: string;
  readonly nonce: string;
  readonly verifier: string;
}

export interface Claims {
  readonly issuer: string;
  readonly subject: string;
}

/** A provider of sign-ins by OpenID Connect: authorization code with PKCE, its keys by discovery. */
export class Provider {
  private known: { readonly atMs: number; readonly server: oauth.AuthorizationServer } | undefined;
  private readonly options: Pick<oauth.HttpRequestOptions<'GET'>, 'signal' | typeof oauth.allowInsecureRequests>;

  constructor(readonly settings: ProviderSettings) {
    this.options = {
      signal: () => AbortSignal.timeout(ANSWER_MS),
      [oauth.allowInsecureRequests]: settings.issuer.startsWith('http:'),
    };
  }

  /** Where the person is led, and what has to be known when they come back. @throws AppError REFUSED when it is not there. */
  async begin(back: string): Promise<Begun & { readonly address: string }> {
    return this.told(async () => {
      const server = await this.server();
      const begun = {
        state: oauth.generateRandomState(),
        nonce: oauth.generateRandomNonce(),
        verifier: oauth.generateRandomCodeVerifier(),
      };
      const address = new URL(server.authorization_endpoint!);
      const asked = {
        ...{ client_id: this.settings.client, redirect_uri: back, response_type: 'code', scope: 'openid' },
        ...{ state: begun.state, nonce: begun.nonce, code_challenge_method: 'S256' },
        code_challenge: await oauth.calculatePKCECodeChallenge(begun.verifier),
      };
      for (const [name, value] of Object.entries(asked)) address.searchParams.set(name, value);
      return { ...begun, address: address.href };
    });
  }

  /**
   * Who came back, by what the provider signed.
   * @param answer what the browser brought.
   * @throws AppError REFUSED, in words, when it does not hold in any respect, or the provider is not there.
   */
  async finish(answer: URLSearchParams, { state, nonce, verifier }: Begun, back: string): Promise<Claims> {
    return this.told(async () => {
      const server = await this.server();
      const client: oauth.Client = { client_id: this.settings.client };
      const brought = oauth.validateAuthResponse(server, client, answer, state);
      const response = await oauth.authorizationCodeGrantRequest(
        ...([server, client, this.authentication(server), brought, back, verifier] as const),
        this.options,
      );
      const tokens = await oauth.processAuthorizationCodeResponse(server, client, response, {
        expectedNonce: nonce,
        requireIdToken: true,
      });
      await oauth.validateApplicationLevelSignature(server, response, this.options);
      const { iss, sub } = oauth.getValidatedIdTokenClaims(tokens)!;
      return { issuer: iss, subject: sub };
    });
  }

  private authentication(server: oauth.AuthorizationServer): oauth.ClientAuth {
    const { secret } = this.settings;
    if (secret === undefined) return oauth.None();
    const offered = server.token_endpoint_auth_methods_supported ?? ['client_secret_basic'];
    return offered.includes('client_secret_basic') ? oauth.ClientSecretBasic(secret) : oauth.ClientSecretPost(secret);
  }

  private async server(): Promise<oauth.AuthorizationServer> {
    const atMs = performance.now();
    if (this.known && atMs - this.known.atMs < KNOWN_MS) return this.known.server;
    const issuer = new URL(this.settings.issuer);
    const response = await oauth.discoveryRequest(issuer, this.options);
    const server = await oauth.processDiscoveryResponse(issuer, response);
    this.known = { atMs, server };
    return server;
  }

  private async told<T>(work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      if (error instanceof AppError) throw error;
      throw new AppError('REFUSED', this.why(error as Error), { provider: this.settings.issuer });
    }
  }

  private why(error: Error): string {
    const { name } = this.settings;
    if (error instanceof oauth.AuthorizationResponseError) return ELSEWHERE.refusedThere(name, error.error);
    if (error instanceof oauth.ResponseBodyError) return ELSEWHERE.notTaken(name, error.error);
    if (error instanceof oauth.OperationProcessingError) return ELSEWHERE.doesNotHold(name, error.message);
    if (error instanceof oauth.UnsupportedOperationError) return ELSEWHERE.doesNotHold(name, error.message);
    const { message } = (error.cause as Error | undefined) ?? error;
    return ELSEWHERE.notThere(name, message);
  }
}
