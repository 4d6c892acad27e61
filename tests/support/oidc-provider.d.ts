/** What is used of the library, which brings no types. */
declare module 'oidc-provider' {
  import type { RequestListener } from 'node:http';

  export default class Provider {
    constructor(issuer: string, configuration: Record<string, unknown>);
    callback(): RequestListener;
  }
}
