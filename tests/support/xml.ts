const PIECE =
  /<\?[^?]*(?:\?(?!>)[^?]*)*\?>|<\/?([A-Za-z_][\w.:-]*)((?:\s+[A-Za-z_][\w.:-]*\s*=\s*(?:"[^"<]*"|'[^'<]*'))*)\s*(\/?)>|[^<]+/gy;
const REFERENCE = /&(?!(?:amp|lt|gt|quot|apos|#\d+|#x[0-9a-fA-F]+);)/;
const FORBIDDEN = /[^\t\n\r\u{20}-\u{d7ff}\u{e000}-\u{fffd}\u{10000}-\u{10ffff}]/u;

/**
 * The first way in which a text is no well-formed XML 1.0 document, as far as elements, attributes, processing
 * instructions, references and characters go; nothing for one that is. Comments and CDATA, which we never write, are
 * refused.
 */
export function xmlProblem(xml: string): string | undefined {
  if (FORBIDDEN.test(xml)) return 'a character that XML cannot hold';
  if (REFERENCE.test(xml)) return 'an ampersand that begins no reference';
  const open: string[] = [];
  let roots = 0;
  let at = 0;
  for (const match of xml.matchAll(PIECE)) {
    const [piece, name, attributes, empty] = match;
    at = match.index + piece.length;
    if (name === undefined) {
      if (!piece.startsWith('<?') && open.length === 0 && piece.trim().replace('\ufeff', '') !== '')
        return 'text outside the root';
      continue;
    }
    const names = [...(attributes ?? '').matchAll(/\s([\w.:-]+)\s*=/g)].map((attribute) => attribute[1]);
    if (new Set(names).size < names.length) return `an attribute of ${name} is given twice`;
    if (piece.startsWith('</')) {
      if (open.pop() !== name) return `the element ${name} ends but is not the one that is open`;
    } else {
      if (open.length === 0) roots++;
      if (empty === '') open.push(name);
    }
  }
  if (at < xml.length) return `markup that cannot be read: ${xml.slice(at, at + 40)}`;
  if (open.length > 0) return `the element ${open.at(-1)} does not end`;
  return roots === 1 ? undefined : 'not exactly one root';
}
