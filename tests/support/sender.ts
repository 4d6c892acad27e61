import { formNumber } from '../../src/web/form-once.js';
import type { SignedIn } from './service.js';
import { until } from './until.js';
import type { ZipEntry } from './zip.js';

export const BOUNDARY = '----made-for-a-test';

/** A body as a browser makes it, with names as they are given. */
export function bodyOf(
  files: readonly ZipEntry[],
  fields: Readonly<Record<string, string>> = {},
  field = 'files',
): Buffer<ArrayBuffer> {
  const part = (disposition: string, bytes: Buffer) => [
    Buffer.from(`--${BOUNDARY}\r\nContent-Disposition: form-data; ${disposition}\r\nContent-Type: text/plain\r\n\r\n`),
    bytes,
    Buffer.from('\r\n'),
  ];
  return Buffer.concat([
    ...Object.entries(fields).flatMap(([name, value]) => part(`name="${name}"`, Buffer.from(value))),
    ...files.flatMap(({ name, bytes }) => part(`name="${field}"; filename="${name}"`, bytes)),
    Buffer.from(`--${BOUNDARY}--\r\n`),
  ]);
}

export const headersOf = ({ cookie, csrf }: SignedIn) => ({
  Cookie: cookie,
  'X-CSRF-Token': csrf,
  'Content-Type': `multipart/form-data; boundary=${BOUNDARY}`,
});

/** Sends the forms of the pages that bring folders in, as a browser without scripts does. */
export class Sender {
  constructor(
    private readonly url: string,
    private readonly as: SignedIn,
  ) {}

  /** Sends files, and gives where that leads once they are checked. */
  async post(files: readonly ZipEntry[], at = '/intake', fields: Readonly<Record<string, string>> = {}) {
    const { 'X-CSRF-Token': csrf, ...headers } = headersOf(this.as);
    const body = bodyOf(files, { csrf, ...fields });
    return this.ended(await fetch(this.url + at, { method: 'POST', headers, redirect: 'manual', body }));
  }

  async look(at: string) {
    const response = await fetch(this.url + at, { headers: { Cookie: this.as.cookie }, redirect: 'manual' });
    return { status: response.status, to: response.headers.get('location'), text: await response.text() };
  }

  /** Presses a button of the page of an upload. */
  async act(at: string, what: string, fields: Readonly<Record<string, string>> = {}) {
    const body = new URLSearchParams({ csrf: this.as.csrf, ...fields });
    const headers = { Cookie: this.as.cookie };
    return this.ended(await fetch(`${this.url}${at}/${what}`, { method: 'POST', headers, redirect: 'manual', body }));
  }

  /** Presses the store button of the page as it is shown. */
  async store(at: string, number = formNumber()) {
    const [, version] = /name="version" value="(\d+)"/.exec((await this.look(at)).text)!;
    return this.act(at, 'store', { version: version!, 'form-number': number });
  }

  /** Where an answer leads, once the job that it leads to has ended. */
  private async ended(answer: Response) {
    const to = answer.headers.get('location') ?? '';
    const at = to.startsWith('/jobs/') ? await until(async () => (await this.look(to)).to) : to;
    return { status: answer.status, to: at, text: await answer.text() };
  }
}
