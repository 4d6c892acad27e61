import { AppError } from '../../../base/errors.js';
import { readStrictXml } from '../../../base/strict-xml.js';

/** An element by its name: the elements in it, in order, and its own text. */
export interface Element {
  readonly name: string;
  readonly children: Element[];
  text: string;
}

/** Servers write answers in this namespace, or in none. */
const NAMESPACES = ['http://s3.amazonaws.com/doc/2006-03-01/', ''];

/**
 * Reads an answer of the protocol.
 * @param root its element; an answer that says `Error` instead is given back as it is.
 * @throws AppError STORAGE for what is no such answer.
 */
export function readAnswer(bytes: Uint8Array, root: string): Element {
  const refuse = (line: number, found: string): never => {
    throw new AppError('STORAGE', `the object store answers what is no ${root}: line ${line}, ${found}`);
  };
  const found = rootOf(bytes);
  const name = found === 'Error' || (found !== undefined && base(found) === base(root)) ? found : root;
  const path: Element[] = [];
  let top: Element | undefined;
  readStrictXml(bytes, {
    root: name,
    namespaces: NAMESPACES,
    expected: name,
    refuse,
    enter: ({ local }) => {
      const element: Element = { name: local, children: [], text: '' };
      path.at(-1)?.children.push(element);
      top ??= element;
      path.push(element);
    },
    leave: () => {
      path.pop();
    },
    text: (text) => {
      const element = path.at(-1);
      if (element) element.text += text;
    },
  });
  return top!;
}

/** Servers call one answer by several names: `ListPartsResult`, `ListPartsResponse`. */
const base = (name: string): string => name.replace(/(?:Result|Response|Output)$/, '');

/** Name of the first element, found before the whole is read: an error comes in the place of an answer. */
const rootOf = (bytes: Uint8Array): string | undefined =>
  /<([A-Za-z][\w.-]*)/.exec(
    Buffer.from(bytes.subarray(0, 1000))
      .toString('latin1')
      .replace(/<\?[^>]*\?>/, ''),
  )?.[1];

export const textIn = (element: Element, name: string): string =>
  element.children.find((child) => child.name === name)?.text ?? '';

export const allIn = (element: Element, name: string): Element[] =>
  element.children.filter((child) => child.name === name);

/** The word by which an answer refuses; empty where it has none. */
export function codeIn(bytes: Uint8Array): string {
  if (bytes.length === 0 || rootOf(bytes) !== 'Error') return '';
  try {
    return textIn(readAnswer(bytes, 'Error'), 'Code').slice(0, 80);
  } catch {
    return '';
  }
}

/** An element as a request carries it. @param inner elements, or text that is escaped. */
export const element = (name: string, ...inner: readonly string[]): string => `<${name}>${inner.join('')}</${name}>`;
