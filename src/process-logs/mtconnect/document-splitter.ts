const ROOT_END = /<\/(?:[\w.-]+:)?MTConnect\w+\s*>/g;

/** Characters of an end tag at most. What is longer is none, and must not be kept for ever. */
const LONGEST_END = 4096;

/**
 * Cuts text into XML documents that stand one behind the other, as a recorder appends one answer of the agent after
 * another: behind the end tag of a root. A parser takes only one document.
 */
export class DocumentSplitter {
  private tail = '';

  /** @returns pieces of text; after each but the last, a document ends. */
  push(text: string): string[] {
    const all = this.tail + text;
    const pieces: string[] = [];
    let start = 0;
    for (const match of all.matchAll(ROOT_END)) {
      const end = match.index + match[0].length;
      pieces.push(all.slice(start, end));
      start = end;
    }
    // A tag that is cut by the end of the text may be the end tag of a root: it is kept back.
    const lastTag = all.lastIndexOf('<');
    const isCut = lastTag >= start && all.length - lastTag <= LONGEST_END && !all.includes('>', lastTag);
    const keepFrom = isCut ? lastTag : all.length;
    this.tail = all.slice(keepFrom);
    pieces.push(all.slice(start, keepFrom));
    return pieces;
  }

  end(): string {
    const { tail } = this;
    this.tail = '';
    return tail;
  }
}
