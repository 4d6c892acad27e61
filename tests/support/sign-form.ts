import { PASSWORD } from './people.js';
import { type Asking, sendForm } from './service.js';

/** Address of the page on which one thing is signed. */
export const signPage = (thing: string, meaning: string): string =>
  `/sign?meaning=${meaning}&thing=${encodeURIComponent(thing)}`;

/** What the form of a page sends of itself, as a browser would: hidden fields, but not the token of the session. */
export function hiddenIn(html: string): Record<string, string> {
  const fields = [...html.matchAll(/<input type="hidden" name="([^"]+)" value="([^"]*)">/g)];
  return Object.fromEntries(fields.filter(([, name]) => name !== 'csrf').map(([, name, value]) => [name!, value!]));
}

/** What a page shows, without its tags. */
export const textOf = (html: string): string => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');

/** Looks at the page of a thing. @returns what its form would send. */
export async function formOf(ask: Asking, thing: string, meaning: string): Promise<Record<string, string>> {
  return hiddenIn((await ask.get(signPage(thing, meaning))).text);
}

/** Sends such a form. @returns how it was answered, in words, and what the form of the answer would send. */
export async function sendSignForm(ask: Asking, form: Record<string, string>, more: object = {}) {
  const { 'form-number': number, ...fields } = form;
  const {
    status,
    headers,
    text: html,
  } = await sendForm(ask, '/sign', { password: PASSWORD, ...fields, ...more }, number);
  return { status, location: headers.location, says: textOf(html), form: hiddenIn(html) };
}
