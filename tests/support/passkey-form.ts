import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import type { Asked } from '../../src/people/passkeys/webauthn.js';
import { formNumber } from '../../src/web/form-once.js';
import { challengeOf, formText } from '../../src/web/passkey-ask.js';
import type { SignedIn } from './service.js';

/** Browsers make passkeys for names alone. */
export const NAME = 'localhost:4443';

/** What stands in an attribute of a page, as a browser reads it. */
const plain = (text: string) => text.replaceAll('&quot;', '"').replaceAll('&#39;', "'").replaceAll('&amp;', '&');

/** A browser without a window, under the name of the service: it shows pages and sends forms, as our script makes them. */
export class FormBrowser {
  constructor(
    private readonly app: NestExpressApplication,
    private readonly signedIn?: SignedIn,
    private readonly host = NAME,
  ) {}

  get(path: string) {
    const ask = request(this.app.getHttpServer()).get(path).set('Host', this.host);
    return this.signedIn ? ask.set('Cookie', this.signedIn.cookie) : ask;
  }

  /** @param fields as they are typed; the token and the number of the form are added. */
  post(path: string, fields: object) {
    const ask = request(this.app.getHttpServer()).post(path).set('Host', this.host).type('form');
    if (!this.signedIn) return ask.send(fields);
    const { cookie, csrf } = this.signedIn;
    return ask.set('Cookie', cookie).send({ csrf, 'form-number': formNumber(), ...fields });
  }

  /** The number for passkeys that the form of this address bears in a page, and the passkeys that it asks for. */
  static marksOf(html: string, action: string): { number: string; own: string[]; others: Record<string, string[]> } {
    const form = html.split('<form').find((part) => part.includes(`action="${action}"`)) ?? '';
    const [, number = '', own = '', others = '{}'] =
      /name="passkey-number" value="([^"]*)" data-own="([^"]*)" data-others="([^"]*)"/.exec(form) ?? [];
    return { number, own: own.split(' ').filter(Boolean), others: JSON.parse(plain(others)) };
  }

  /** What the passkeys of a form are asked to sign. */
  asked(action: string, number: string, fields: Record<string, unknown>, account: Buffer): Asked {
    const origin = `http://${this.host}`;
    const challenge = challengeOf(number, formText(action, fields));
    return { challenge, origin, host: this.host.split(':')[0]!, account };
  }
}
