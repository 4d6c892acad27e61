import { AppError } from '../errors.js';
import { contentFault } from './content.js';
import { type Identifier, identifierAt } from './identifiers.js';

/** An application identifier and its content. */
export interface Element {
  readonly ai: string;
  readonly content: string;
}

/** What ends an element of variable length in the carrier: FNC1, which a scanner hands over as this character. */
export const SEPARATOR = '\u001d';

/**
 * Reads element strings as a scanner hands them over, by the one grammar of the published identifiers: what each holds,
 * its check digit and day, that none stands twice, and that none stands beside one that excludes it.
 * @param year the present year, which says the century of years of two digits.
 * @throws AppError BAD_INPUT naming the identifier, its place, and what was expected there.
 */
export function readElementString(scanned: string, year: number): Element[] {
  const elements: Element[] = [];
  let at = 0;
  while (at < scanned.length) {
    const rest = scanned.slice(at);
    const identifier = identifierAt(rest) ?? refuseIdentifier(rest, at);
    const from = identifier.ai.length;
    const end = endOf(identifier, rest);
    elements.push(checkedElement(identifier, rest.slice(from, end), year, at));
    at += rest[end] === SEPARATOR ? end + 1 : end;
  }
  checkTogether(elements);
  return elements;
}

/**
 * Reads element strings as people write them, `(01)09506000134352(21)12`. A bracket inside a content has no sure reading
 * there and is refused; scan the code instead.
 * @throws AppError BAD_INPUT as `readElementString`.
 */
export function readBracketed(written: string, year: number): Element[] {
  const elements = [...written.matchAll(/\((\d{2,4})\)([^()]*)|./gsu)].map((match) => {
    const { index } = match;
    const [, ai, content] = match;
    const identifier = ai === undefined ? undefined : identifierAt(ai);
    if (identifier?.ai !== ai || identifier === undefined) refuseIdentifier(written.slice(index), index);
    return checkedElement(identifier, content!, year, index);
  });
  checkTogether(elements);
  return elements;
}

/** Writes an element after the checks that reading makes. @throws AppError BAD_INPUT as `readElementString`. */
export function checkedElements(elements: readonly Element[], year: number): readonly Element[] {
  for (const { ai, content } of elements) checkedElement(identifierAt(ai)!, content, year);
  checkTogether(elements);
  return elements;
}

/** What the carrier holds: a separator behind each element that needs one, unless it is the last. */
export function carrierText(elements: readonly Element[], separator: string): string {
  return elements
    .map(({ ai, content }, index) => {
      const isClosed = index === elements.length - 1 || identifierAt(ai)!.isPredefined;
      return ai + content + (isClosed ? '' : separator);
    })
    .join('');
}

/** For people: `(01)09506000134352(21)12`. The parentheses never stand in the carrier. */
export const humanReadable = (elements: readonly Element[]): string =>
  elements.map(({ ai, content }) => `(${ai})${content}`).join('');

/** Identifiers that must stand on the item beside those given, each with the sets of which one would do. */
export function missingBeside(
  elements: readonly Element[],
): { readonly ai: string; readonly oneOf: readonly string[] }[] {
  const stands = (wanted: RegExp) => elements.some(({ ai }) => wanted.test(ai));
  return elements.flatMap(({ ai }) => {
    const { needs } = identifierAt(ai)!;
    const isMet = needs.length === 0 || needs.some((set) => set.every(stands));
    return isMet ? [] : [{ ai, oneOf: needs.map((set) => set.map(readable).join(' with ')) }];
  });
}

const readable = (pattern: RegExp): string => `(${pattern.source.slice(1, -1).replaceAll('.', 'n')})`;

/** Content of known length ends by itself, all other at the separator or with the text. */
function endOf({ ai, parts, isPredefined }: Identifier, rest: string): number {
  const separator = rest.indexOf(SEPARATOR);
  const end = separator < 0 ? rest.length : separator;
  if (!isPredefined) return end;
  return Math.min(end, ai.length + parts.reduce((total, { longest }) => total + longest, 0));
}

function checkedElement(identifier: Identifier, content: string, year: number, at?: number): Element {
  const { ai } = identifier;
  const expected = content === '' ? 'some content' : contentFault(identifier, content, year);
  if (expected === undefined) return { ai, content };
  const place = at === undefined ? '' : ` at character ${at + 1}`;
  throw refused(`"${shown(content)}" of (${ai})${place}`, `expected ${expected}`, { ai });
}

function checkTogether(elements: readonly Element[]): void {
  for (const [index, { ai }] of elements.entries()) {
    if (elements.findIndex((other) => other.ai === ai) < index) {
      throw refused(`a second (${ai})`, 'expected each identifier once', { ai });
    }
    const other = elements.find(
      (other) => other.ai !== ai && identifierAt(ai)!.excludes.some((no) => no.test(other.ai)),
    );
    if (other) throw refused(`(${ai}) beside (${other.ai})`, 'the two exclude each other', { ai });
  }
}

function refuseIdentifier(rest: string, at: number): never {
  const found = shown(rest.slice(0, 6));
  throw refused(
    `"${found}" at character ${at + 1}`,
    'expected a published application identifier, such as 01, 10 or 21',
  );
}

const refused = (what: string, why: string, facts: Readonly<Record<string, string>> = {}) =>
  new AppError('BAD_INPUT', `${what} cannot stand in a GS1 code: ${why}`, facts);

const shown = (text: string): string =>
  text
    .replaceAll(SEPARATOR, '␝')
    .replace(/[^ -~␝\p{L}]/gu, '·')
    .slice(0, 90);
