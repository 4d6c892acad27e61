import { SaxesParser, type SaxesTagNS } from 'saxes';
import { MOST } from './limits.js';

/** What is read of an XML file, and how it refuses. */
export interface StrictXml {
  /** Name of the root element, and the namespaces in one of which it stands. */
  readonly root: string;
  readonly namespaces: readonly string[];
  /** What was expected in place of another root, in words. */
  readonly expected: string;
  refuse(line: number, found: string, expected: string): never;
  enter(tag: SaxesTagNS, line: number): void;
  leave(local: string): void;
  text?(text: string): void;
}

const PIECE = 1 << 16;

/** Whether an XML declaration lets a file be read as UTF-8, of which US-ASCII is a part; so does one that names nothing. */
export const isUtf8 = (declared: string | undefined): boolean =>
  declared === undefined || /^(?:utf-8|us-ascii)$/i.test(declared);

/**
 * Reads an XML file of one root, in UTF-8, as a stream. There is no way for it to name another file, or an entity of its own.
 * @throws what `refuse` throws, with the line, for everything else.
 */
export function readStrictXml(bytes: Uint8Array, told: StrictXml): void {
  const parser = new SaxesParser({ xmlns: true });
  const refuse = (found: string, expected: string): never => told.refuse(parser.line, found, expected);
  let depth = 0;
  parser.on('error', (error) => refuse(error.message.replace(/^\d+:\d+: /, ''), 'a well-formed XML document'));
  parser.on('xmldecl', ({ encoding }) => {
    if (isUtf8(encoding)) return;
    refuse(`encoding ${encoding}`, 'UTF-8');
  });
  parser.on('doctype', () => refuse('a document type declaration', 'a document without DOCTYPE'));
  parser.on('opentag', (tag) => {
    depth += 1;
    if (depth > MOST.streamDepth) refuse(`more than ${MOST.streamDepth} elements in each other`, 'fewer');
    const { local, uri, name } = tag;
    if (depth === 1 && !(local === told.root && told.namespaces.includes(uri)))
      refuse(`a root element ${name} of "${uri}"`, told.expected);
    told.enter(tag, parser.line);
  });
  parser.on('closetag', ({ local }) => {
    depth -= 1;
    told.leave(local);
  });
  for (const part of ['text', 'cdata'] as const) if (told.text) parser.on(part, (text) => told.text!(text));
  const decoder = new TextDecoder('utf-8', { fatal: true });
  const decoded = (piece?: Uint8Array): string => {
    try {
      return decoder.decode(piece, { stream: piece !== undefined });
    } catch {
      return refuse('bytes that are not UTF-8', 'UTF-8');
    }
  };
  for (let at = 0; at < bytes.length; at += PIECE) parser.write(decoded(bytes.subarray(at, at + PIECE)));
  parser.write(decoded()).close();
}
