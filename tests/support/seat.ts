import fs from 'node:fs';
import path from 'node:path';
import { textOf } from './sign-form.js';
import { until } from './until.js';

/** What is typed, chosen and ticked, by the names of the fields; several for boxes of one name. */
export type Filled = Readonly<Record<string, string | readonly string[]>>;

/** Somebody before the pages: what they are shown, and the forms that they fill in and send. */
export interface Seat {
  /** Address of the page that is shown, without its host. */
  readonly at: string;
  /** The page that is shown. */
  readonly html: string;
  open(address: string): Promise<void>;
  /**
   * Fills in the first form with this address, or whose address begins so where it ends with a slash, and presses a button of it: the one with this value, or the first.
   * A field that the form does not show is an error, as it would be for a person.
   */
  send(form: string, filled?: Filled, button?: string): Promise<void>;
  /** Chooses a folder in the form of `/intake`, and sends it. */
  sendFolder(folder: string): Promise<void>;
}

const decoded = (text: string): string =>
  text
    .replaceAll('&quot;', '"')
    .replaceAll('&#39;', "'")
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&amp;', '&');

/** What the page says, without its tags. */
export const saidOn = ({ html }: Pick<Seat, 'html'>): string => decoded(textOf(html));

/** Addresses of the links that begin so, in the order of the page. */
export const linksOn = ({ html }: Pick<Seat, 'html'>, start: string): string[] =>
  [...html.matchAll(/ href="([^"]+)"/g)].map((match) => decoded(match[1]!)).filter((href) => href.startsWith(start));

/** Values of the fields of one name that are shown and may be changed. */
export const valuesOn = ({ html }: Pick<Seat, 'html'>, name: string): string[] =>
  fieldsIn(html).flatMap((field) => (field.name === name && !field.isDisabled ? [field.value] : []));

interface Field {
  readonly name: string;
  readonly value: string;
  readonly type: string;
  readonly isChecked: boolean;
  readonly isDisabled: boolean;
}

const attribute = (tag: string, name: string): string | undefined => {
  const found = new RegExp(`\\s${name}="([^"]*)"`).exec(tag);
  return found ? decoded(found[1]!) : undefined;
};
const has = (tag: string, name: string): boolean => new RegExp(`\\s${name}(?=[\\s>=])`).test(tag);

function fieldsIn(html: string): Field[] {
  const tags = /<input\b[^>]*>|<textarea\b[^>]*>([\s\S]*?)<\/textarea>|<select\b[^>]*>([\s\S]*?)<\/select>/g;
  return [...html.matchAll(tags)].flatMap(([whole, text, options]) => {
    const tag = /^<[^>]*>/.exec(whole)![0];
    const name = attribute(tag, 'name');
    if (name === undefined) return [];
    const chosen = options === undefined ? undefined : /<option\b[^>]*\sselected[^>]*>/.exec(options)?.[0];
    const value = text === undefined ? attribute(chosen ?? tag, 'value') : decoded(text);
    const type = whole.startsWith('<input') ? (attribute(tag, 'type') ?? 'text') : 'text';
    return [{ name, value: value ?? '', type, isChecked: has(tag, 'checked'), isDisabled: has(tag, 'disabled') }];
  });
}

/** @param form the address of a form, or its beginning up to a slash. */
const leadsTo = (form: string, action = ''): boolean =>
  form.endsWith('/') ? action.startsWith(form) : action === form;

/** Whether a form of the page shows a field. */
export const hasField = ({ html }: Pick<Seat, 'html'>, name: string): boolean =>
  fieldsIn(html).some((field) => field.name === name);

/** Sends forms as a browser without scripts does, and follows where they lead. */
export class FormSeat implements Seat {
  at = '';
  html = '';
  private cookie = '';

  constructor(private readonly url: string) {}

  open(address: string): Promise<void> {
    return this.ask(address);
  }

  async send(form: string, filled: Filled = {}, button?: string): Promise<void> {
    const found = [...this.html.matchAll(/<form\b[^>]*>([\s\S]*?)<\/form>/g)].find(([whole]) =>
      leadsTo(form, attribute(/^<[^>]*>/.exec(whole)![0], 'action')),
    );
    if (!found) throw new Error(`${this.at} shows no form to ${form}: ${saidOn(this)}`);
    const tag = /^<[^>]*>/.exec(found[0])![0];
    const body = bodyOf(this.at, fieldsIn(found[1]!), filled);
    const pressed = [...found[1]!.matchAll(/<button\b[^>]*>/g)].map(([one]) => one);
    const one = button === undefined ? pressed[0] : pressed.find((item) => attribute(item, 'value') === button);
    if (!one) throw new Error(`the form to ${form} of ${this.at} has no button ${button}`);
    const name = attribute(one, 'name');
    if (name !== undefined) body.append(name, attribute(one, 'value') ?? '');
    const isMultipart = attribute(tag, 'enctype') === 'multipart/form-data';
    await this.ask(
      attribute(tag, 'action')!,
      isMultipart ? body : new URLSearchParams([...body] as [string, string][]),
    );
  }

  async sendFolder(folder: string): Promise<void> {
    await this.open('/intake');
    const body = new FormData();
    body.append('csrf', fieldsIn(this.html).find(({ name }) => name === 'csrf')!.value);
    for (const name of fs.readdirSync(folder, { recursive: true }) as string[]) {
      const file = path.join(folder, name);
      if (!fs.statSync(file).isFile()) continue;
      body.append('folder', new Blob([fs.readFileSync(file)]), path.join(path.basename(folder), name));
    }
    await this.ask('/intake', body);
  }

  private async ask(address: string, body?: FormData | URLSearchParams): Promise<void> {
    const headers = { Cookie: this.cookie, ...(body ? { Origin: this.url, 'Sec-Fetch-Site': 'same-origin' } : {}) };
    const sent = { headers, redirect: 'manual', method: body ? 'POST' : 'GET', ...(body ? { body } : {}) } as const;
    const answer = await (body ? fetch(new URL(address, this.url), sent) : looked(new URL(address, this.url), sent));
    const [cookie] = answer.headers.getSetCookie();
    if (cookie !== undefined) this.cookie = cookie.split(';')[0]!;
    const to = answer.headers.get('location');
    if (to !== null) {
      await answer.arrayBuffer();
      return this.ask(to);
    }
    this.at = address;
    this.html = await answer.text();
    if (answer.status >= 500) throw new Error(`${address} answers ${answer.status}: ${saidOn(this)}`);
    // A page of work that takes long leads on once it is done.
    if (address.startsWith('/jobs/') && this.html.includes('data-open')) {
      await until(async () => {
        const { status, headers: more } = await looked(new URL(address, this.url), { headers, redirect: 'manual' });
        return status === 303 ? more.get('location') : null;
      }).then((next) => this.ask(next));
    }
  }
}

/** Asks once more where the service had just closed the line that was kept open for it, as browsers do; never where something is sent. */
async function looked(address: URL, asked: RequestInit): Promise<Response> {
  try {
    return await fetch(address, asked);
  } catch (error) {
    const { code } = ((error as Error).cause ?? {}) as { code?: string };
    if (code !== 'UND_ERR_SOCKET') throw error;
    return fetch(address, asked);
  }
}

function bodyOf(at: string, fields: readonly Field[], filled: Filled): FormData {
  const body = new FormData();
  const unknown = Object.keys(filled).filter((name) => !fields.some((field) => field.name === name));
  if (unknown.length > 0) throw new Error(`${at} has no field ${unknown.join(', ')}`);
  for (const { name, value, type, isChecked, isDisabled } of fields) {
    if (isDisabled || type === 'file') continue;
    const given = filled[name];
    if (type === 'checkbox' || type === 'radio') {
      const isChosen = given === undefined ? isChecked : [given].flat().includes(value);
      if (isChosen) body.append(name, value);
    } else body.append(name, typeof given === 'string' ? given : value);
  }
  return body;
}
