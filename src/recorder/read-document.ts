import { SaxesParser } from 'saxes';
import { AppError } from '../base/errors.js';
import { DocumentParser } from '../process-logs/mtconnect/document-parser.js';
import type { StreamHeader } from '../process-logs/mtconnect/observation.js';

/** What a document of an agent holds, as far as its numbers go. */
export interface Numbered {
  readonly instance: string;
  /** Oldest observation that the agent still held. */
  readonly firstSequence: number;
  /** Where the next request goes on. */
  readonly nextSequence: number;
  /** Sequence numbers of its observations, in order. */
  readonly sequences: readonly number[];
}

/** An agent refused a request, by codes of the standard such as OUT_OF_RANGE (MTConnect Part 1, error information model). */
export class AgentError extends AppError {
  constructor(
    readonly codes: readonly string[],
    says: string,
  ) {
    super('STORAGE', says);
  }
}

/**
 * Reads a document to its end by the reader of the log scanner: what is recorded here is read there.
 * @throws AgentError when the agent refuses; BadInputError with the line of what is wrong.
 */
export function readDocument(bytes: Buffer): Numbered {
  const refusal = agentErrors(bytes);
  if (refusal.length > 0) {
    throw new AgentError(
      refusal.map(({ code }) => code),
      refusal.map(({ code, text }) => `${code}: ${text}`).join('; '),
    );
  }
  let header: StreamHeader | undefined;
  const sequences: number[] = [];
  const parser = new DocumentParser('the answer of the agent', 1, {
    header: (found) => {
      header = found;
    },
    wants: () => 'nothing',
    observation: ({ sequence }) => sequences.push(sequence),
  });
  parser.write(bytes);
  parser.close();
  const { instance, firstSequence, nextSequence } = header!;
  return { instance, firstSequence, nextSequence, sequences: sequences.sort((a, b) => a - b) };
}

const LONGEST_ERROR = 64_000;
const ROOT = /<(?:[\w.-]+:)?MTConnectError[\s>]/;

/** What an agent says in a document of its errors; nothing in any other. */
function agentErrors(bytes: Buffer): { code: string; text: string }[] {
  if (bytes.length > LONGEST_ERROR || !ROOT.test(bytes.toString('latin1', 0, 4000))) return [];
  const found: { code: string; text: string }[] = [];
  const parser = new SaxesParser();
  parser.on('opentag', ({ attributes }) => {
    if (attributes.errorCode !== undefined) found.push({ code: attributes.errorCode, text: '' });
  });
  parser.on('text', (text) => {
    const last = found.at(-1);
    if (last) last.text = `${last.text}${text}`.trim().slice(0, 300);
  });
  // Half a message is as good as none.
  parser.on('error', () => {});
  parser.write(bytes.toString('utf8')).close();
  return found.length > 0 ? found : [{ code: 'unknown', text: 'an error that names no code' }];
}
