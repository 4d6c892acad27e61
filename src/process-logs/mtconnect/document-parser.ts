import { SaxesParser, type SaxesTagNS } from 'saxes';
import { BadInputError, type Problem } from '../../base/errors.js';
import { MOST } from '../../base/limits.js';
import { readTimestampUs } from '../timestamp.js';
import type { Observation, StreamHeader } from './observation.js';

const NAMESPACE = /^urn:mtconnect\.org:MTConnectStreams:1\.\d+$/;
const CATEGORIES: readonly string[] = ['Samples', 'Events', 'Condition'];
/** MTConnectStreams, Streams, DeviceStream, ComponentStream, Samples: an observation is a child of the fifth. */
const OBSERVATION_DEPTH = 6;
/** SequenceType of the schema is an integer from 1; above this it is not exact here. */
const LARGEST_SEQUENCE = Number.MAX_SAFE_INTEGER;

export interface DocumentSink {
  header(header: StreamHeader): void;
  observation(observation: Observation): void;
}

/**
 * Reads one MTConnectStreams document as a stream: nothing of it is kept but the element that is open. Elements and
 * attributes as in the schema MTConnectStreams_1.4.xsd. There is no way for a document to name another: a document type
 * declaration is refused, and with it every entity but those of XML itself.
 */
export class DocumentParser {
  private readonly parser = new SaxesParser({ xmlns: true });
  private readonly path: string[] = [];
  private open: { tag: SaxesTagNS; line: number } | null = null;
  private text = '';
  private sawHeader = false;
  private characters = 0;
  /** Where the last tag, text or comment ended: the parser holds what comes behind it. */
  private endedAt = 0;

  /**
   * @param firstLine line of the file in which the document begins.
   * @param sink gets the header first and then each observation.
   */
  constructor(
    private readonly fileName: string,
    private readonly firstLine: number,
    private readonly sink: DocumentSink,
  ) {
    const { parser } = this;
    parser.on('error', (error) =>
      this.refuse('xml', error.message.replace(/^\d+:\d+: /, ''), 'a well-formed XML document'),
    );
    parser.on('doctype', () => this.refuse('xml-doctype', 'a document type declaration', 'a document without DOCTYPE'));
    parser.on('xmldecl', ({ encoding }) => {
      if (encoding === undefined || /^(utf-8|us-ascii)$/i.test(encoding)) return;
      this.refuse('xml-encoding', `encoding ${encoding}`, 'UTF-8');
    });
    parser.on('opentag', (tag) => this.enter(tag));
    parser.on('closetag', () => this.leave());
    parser.on('text', (text) => this.addText(text));
    parser.on('cdata', (text) => this.addText(text));
    parser.on('comment', () => this.ended());
    parser.on('processinginstruction', () => this.ended());
  }

  /** Line of the file at which the parser is. */
  get line(): number {
    return this.firstLine + this.parser.line - 1;
  }

  /** True between the start tag of the root and its end. */
  get isOpen(): boolean {
    return this.path.length > 0;
  }

  /** @throws BadInputError with the line of what is wrong. */
  write(text: string): void {
    this.parser.write(text);
    this.characters += text.length;
    const open = this.parser.position - this.endedAt;
    if (open > MOST.streamTagCharacters) {
      this.refuse('mtconnect-size', `${open} characters without a tag`, `at most ${MOST.streamTagCharacters}`);
    }
    if (this.characters > MOST.streamDocumentCharacters) {
      const expected = `at most ${MOST.streamDocumentCharacters} characters: have the recorder ask for fewer observations at a time`;
      this.refuse('mtconnect-size', 'a longer document', expected);
    }
  }

  /** @throws BadInputError when the document is not complete. */
  close(): void {
    this.parser.close();
  }

  private ended(): void {
    this.endedAt = this.parser.position;
  }

  private enter(tag: SaxesTagNS): void {
    this.ended();
    if (this.path.length === 0) this.checkRoot(tag);
    else if (this.path.length === 1 && tag.local === 'Header') this.readHeader(tag);
    if (this.path.length === MOST.streamDepth) {
      this.refuse(
        'mtconnect-size',
        `elements nested more than ${MOST.streamDepth} deep`,
        'a document as its schema has it',
      );
    }
    this.path.push(tag.local);
    if (this.path.length === OBSERVATION_DEPTH && CATEGORIES.includes(this.path.at(-2)!)) {
      if (!this.sawHeader) this.refuse('mtconnect-header', 'an observation before the header', 'the header first');
      this.open = { tag, line: this.line };
      this.text = '';
    } else if (this.open !== null) {
      const found = `an element ${tag.name} inside ${this.open.tag.name}`;
      this.refuse('mtconnect-value', found, 'a single value: sets and tables of values are not read');
    }
  }

  private leave(): void {
    this.ended();
    const { open, path } = this;
    if (open !== null && path.length === OBSERVATION_DEPTH) {
      this.sink.observation(this.asObservation(open.tag, open.line));
      this.open = null;
    }
    path.pop();
  }

  private addText(text: string): void {
    this.ended();
    if (this.open === null) return;
    this.text += text;
    if (this.text.length > MOST.streamValueCharacters)
      this.refuse('mtconnect-value', `more than ${MOST.streamValueCharacters} characters`, 'a single value');
  }

  private checkRoot({ local, uri, name }: SaxesTagNS): void {
    if (local === 'MTConnectStreams' && NAMESPACE.test(uri)) return;
    const found = local === 'MTConnectError' ? 'an error message of the agent' : `a root element ${name} of "${uri}"`;
    this.refuse('mtconnect-root', found, 'MTConnectStreams of urn:mtconnect.org:MTConnectStreams:1.4 or its revisions');
  }

  private readHeader(tag: SaxesTagNS): void {
    if (this.sawHeader) this.refuse('mtconnect-header', 'a second header', 'one header');
    this.sawHeader = true;
    this.sink.header({
      instance: this.attribute(tag, 'instanceId'),
      firstSequence: this.sequence(tag, 'firstSequence'),
      nextSequence: this.sequence(tag, 'nextSequence'),
      line: this.line,
    });
  }

  private asObservation(tag: SaxesTagNS, line: number): Observation {
    const time = this.attribute(tag, 'timestamp');
    const timeUs =
      readTimestampUs(time) ??
      this.refuse('mtconnect-time', time, 'a date and time with offset, such as 2026-03-02T07:15:00.250Z');
    return {
      category: this.path.at(-2) as Observation['category'],
      element: tag.local,
      dataItem: this.attribute(tag, 'dataItemId'),
      timeUs,
      sequence: this.sequence(tag, 'sequence'),
      value: this.text.trim(),
      type: tag.attributes.type?.value ?? '',
      nativeCode: tag.attributes.nativeCode?.value ?? '',
      line,
    };
  }

  private attribute({ attributes, name }: SaxesTagNS, attribute: string): string {
    const value = attributes[attribute]?.value;
    return value || this.refuse('mtconnect-attribute', `${name} without ${attribute}`, `the attribute ${attribute}`);
  }

  private sequence(tag: SaxesTagNS, attribute: string): number {
    const text = this.attribute(tag, attribute);
    const value = /^\d{1,19}$/.test(text) ? Number(text) : Number.NaN;
    if (value >= 1 && value <= LARGEST_SEQUENCE) return value;
    return this.refuse('mtconnect-attribute', `${attribute} ${text}`, 'a whole number from 1');
  }

  private refuse(code: string, found: string, expected: string): never {
    throw new BadInputError([refused(this.fileName, this.line, code, found, expected)]);
  }
}

export function refused(file: string, line: number, code: string, found: string, expected: string): Problem {
  const remedy = 'record the stream of the machine again, or have its agent corrected; nothing of the file was used';
  return { code, file, line, found, expected, remedy };
}
