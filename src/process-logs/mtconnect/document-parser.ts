import { SaxesParser, type SaxesTagNS } from 'saxes';
import { BadInputError, type Problem } from '../../base/errors.js';
import { MOST } from '../../base/limits.js';
import { isUtf8 } from '../../base/strict-xml.js';
import { STREAM_VERSIONS } from '../../kinds/stream-versions.js';
import type { Observation, StreamHeader } from './observation.js';
import { attributeOf, OpenObservation, type Refuse, sequenceOf } from './open-observation.js';
import { CUT, NOTHING_MORE, QuickObservations } from './quick-observations.js';

const VERSIONS: ReadonlyMap<string, string> = new Map(
  STREAM_VERSIONS.map((version) => [`urn:mtconnect.org:MTConnectStreams:${version}`, version]),
);
/** So much is kept of what a header names as its version. */
const LONGEST_VERSION = 40;
const CATEGORIES: readonly string[] = ['Samples', 'Events', 'Condition'];
/** MTConnectStreams, Streams, DeviceStream, ComponentStream, Samples: an observation is a child of the fifth. */
const OBSERVATION_DEPTH = 6;
/** A plain observation that is longer is no plain one. */
const LONGEST_PLAIN = 64_000;
const GREATER = 62;
const NOTHING = Buffer.alloc(0);

export interface DocumentSink {
  header(header: StreamHeader): void;
  /** What of its observations is looked at beside time and sequence number; of plain decimals the number may do. */
  wants(dataItem: string): 'nothing' | 'number' | 'all';
  observation(observation: Observation): void;
}

/**
 * Reads one MTConnectStreams document as a stream: nothing of it is kept but the element that is open. Elements and
 * attributes as in the schemas of the versions 1.1 to 2.7. There is no way for a document to name another: a document type
 * declaration is refused, and with it every entity but those of XML itself. Plain observations, nearly all there are, are
 * read without the XML parser, which reads everything else.
 */
export class DocumentParser {
  private readonly parser = new SaxesParser({ xmlns: true });
  private readonly decoder = new TextDecoder('utf-8', { fatal: true });
  private readonly quick = new QuickObservations();
  private readonly path: string[] = [];
  private readonly refuse: Refuse = (code, found, expected) => {
    throw new BadInputError([refused(this.fileName, this.line, code, found, expected)]);
  };
  private open: OpenObservation | null = null;
  /** Of the namespace. */
  private version = '';
  private sawHeader = false;
  private isEnded = false;
  /** The category is one whose observations may be plain. */
  private isQuick = false;
  /** The parser stands between two observations of such a category, behind a tag that ended just now. */
  private isBetween = false;
  /** The beginning of a plain observation whose end is not here yet. */
  private held: Buffer = NOTHING;
  /** Line feeds that the parser did not see. */
  private quickLines = 0;
  /** Where the last tag, text or comment ended: the parser holds what comes behind it. */
  private endedAt = 0;
  /** The plain observation that was read last: one for all, since there are so many. */
  private readonly plain = {
    ...{ category: 'Samples' as Observation['category'], element: '', dataItem: '', timeUs: 0, sequence: 0 },
    ...{ value: '', number: Number.NaN, entries: null, series: null, condition: null, isReset: false, line: 0 },
  };

  /**
   * @param firstLine line of the file in which the document begins.
   * @param sink gets the header first and then each observation, which is only valid until the next one.
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
      if (isUtf8(encoding)) return;
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
    return this.firstLine + this.parser.line - 1 + this.quickLines;
  }

  /**
   * Reads up to the end of the document, or of the bytes.
   * @returns the index behind what was read: less than the length of the piece when the document ended.
   * @throws BadInputError with the line of what is wrong.
   */
  write(piece: Buffer): number {
    const { held } = this;
    const bytes = held.length === 0 ? piece : Buffer.concat([held, piece]);
    this.held = NOTHING;
    let at = 0;
    while (at < bytes.length && !this.isEnded) {
      if (this.isBetween) {
        at = this.readPlain(bytes, at);
        if (this.held.length > 0 || at === bytes.length) return piece.length;
      }
      at = this.feedTag(bytes, at);
    }
    return at - held.length;
  }

  /** @throws BadInputError when the document is not complete. */
  close(): void {
    this.parser.write(this.decode(this.held, false));
    this.held = NOTHING;
    this.parser.close();
  }

  get hasEnded(): boolean {
    return this.isEnded;
  }

  /** Reads plain observations as far as there are. @returns the index of what is none. */
  private readPlain(bytes: Buffer, start: number): number {
    const { quick, sink, plain } = this;
    const { found } = quick;
    plain.category = this.path.at(-1) as Observation['category'];
    const atLine = this.firstLine + this.parser.line - 1;
    for (let at = start; ; ) {
      const end = quick.read(bytes, at);
      if (end < 0) {
        if (end === NOTHING_MORE) {
          this.quickLines += found.linesBefore;
          return bytes.length;
        }
        if (end === CUT && bytes.length - at < LONGEST_PLAIN) this.held = Buffer.from(bytes.subarray(at));
        return at;
      }
      this.quickLines += found.linesBefore;
      const wanted = sink.wants(found.dataItem);
      const isText = wanted === 'all' || (wanted === 'number' && Number.isNaN(found.number));
      plain.dataItem = found.dataItem;
      plain.timeUs = found.timeUs;
      plain.sequence = found.sequence;
      plain.number = found.number;
      plain.value = isText ? bytes.toString('latin1', found.valueFrom, found.valueTo).trim() : '';
      plain.line = atLine + this.quickLines;
      sink.observation(plain);
      this.quickLines += found.linesInside;
      at = end;
    }
  }

  /** Hands the XML parser text up to the next end of a tag, so that it is known where the parser stands. */
  private feedTag(bytes: Buffer, start: number): number {
    this.isBetween = false;
    const end = bytes.indexOf(GREATER, start) + 1 || bytes.length;
    this.parser.write(this.decode(bytes.subarray(start, end), true));
    const pending = this.parser.position - this.endedAt;
    const most = this.open?.isSeries ? MOST.streamSeriesCharacters : MOST.streamTagCharacters;
    if (pending > most) this.refuse('mtconnect-size', `${pending} characters without a tag`, `at most ${most}`);
    return end;
  }

  private decode(bytes: Buffer, stream: boolean): string {
    try {
      return this.decoder.decode(bytes, { stream });
    } catch {
      return this.refuse('xml-encoding', 'bytes that are not UTF-8', 'UTF-8');
    }
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
    const depth = this.path.length;
    if (this.open !== null) this.open.enter(tag, depth - OBSERVATION_DEPTH);
    else if (depth === OBSERVATION_DEPTH && CATEGORIES.includes(this.path.at(-2)!)) this.enterObservation(tag);
    else if (depth === OBSERVATION_DEPTH - 1) {
      // A condition has attributes that the quick way does not know, and a prefix has to be looked up.
      this.isQuick = (tag.local === 'Samples' || tag.local === 'Events') && tag.prefix === '' && this.sawHeader;
      this.isBetween = this.isQuick;
    }
  }

  private enterObservation(tag: SaxesTagNS): void {
    if (!this.sawHeader) this.refuse('mtconnect-header', 'an observation before the header', 'the header first');
    const isWanted = this.sink.wants(attributeOf(tag, 'dataItemId', this.refuse)) !== 'nothing';
    this.open = new OpenObservation(tag, this.line, isWanted, this.refuse);
  }

  private leave(): void {
    this.ended();
    const { open, path } = this;
    const depth = path.length;
    if (open !== null && depth === OBSERVATION_DEPTH) {
      this.sink.observation(open.told(this.path.at(-2) as Observation['category']));
      this.open = null;
    } else open?.leave(depth - OBSERVATION_DEPTH);
    path.pop();
    this.isBetween = depth === OBSERVATION_DEPTH && this.isQuick;
    this.isEnded = depth === 1;
  }

  private addText(text: string): void {
    this.ended();
    this.open?.add(text);
  }

  private checkRoot({ local, uri, name }: SaxesTagNS): void {
    const version = VERSIONS.get(uri);
    if (local === 'MTConnectStreams' && version !== undefined) {
      this.version = version;
      return;
    }
    const found = local === 'MTConnectError' ? 'an error message of the agent' : `a root element ${name} of "${uri}"`;
    this.refuse(
      'mtconnect-root',
      found,
      `MTConnectStreams of urn:mtconnect.org:MTConnectStreams, versions ${STREAM_VERSIONS[0]} to ${STREAM_VERSIONS.at(-1)}`,
    );
  }

  private readHeader(tag: SaxesTagNS): void {
    if (this.sawHeader) this.refuse('mtconnect-header', 'a second header', 'one header');
    this.sawHeader = true;
    this.sink.header({
      instance: attributeOf(tag, 'instanceId', this.refuse),
      saidVersion: (tag.attributes.version?.value ?? '').trim().slice(0, LONGEST_VERSION),
      version: this.version,
      firstSequence: sequenceOf(tag, 'firstSequence', this.refuse),
      nextSequence: sequenceOf(tag, 'nextSequence', this.refuse),
      line: this.line,
    });
  }
}

export function refused(file: string, line: number, code: string, found: string, expected: string): Problem {
  const remedy = 'record the stream of the machine again, or have its agent corrected; nothing of the file was used';
  return { code, file, line, found, expected, remedy };
}
