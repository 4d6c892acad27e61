import { AppError } from '../base/errors.js';
import { headLine, type Note, parseCheckpoint, parseHead } from './checkpoint.js';
import type { AfterLoss, KnownOutside } from './key-chain.js';

/**
 * What is kept outside the database, so that nobody can write the audit trail anew who has the database alone: the
 * fingerprint of the first key, keys that two people put in the place of a lost one, and the largest signed head.
 */
export interface Anchor extends KnownOutside {
  /** Null until the first change. */
  readonly head: Note | null;
  /** A restored backup of which the audit trail may not know yet, since the key was not there; as one line of JSON. */
  readonly restored: string | null;
}

const FIRST_LINE = 'lotwright-anchor 1';
const DIGEST = '[0-9a-f]{64}';
const FIRST_KEY = new RegExp(`^first-key (${DIGEST})$`);
const AFTER_LOSS = new RegExp(`^after-loss (${DIGEST}) (${DIGEST})$`);
const RESTORED = /^restored (\{.*\})$/;

export const afterLossLine = ({ replaces, fingerprint }: AfterLoss): string =>
  `after-loss ${replaces} ${fingerprint}\n`;

/** The shortest text that says the same. */
export const anchorText = ({ firstKey, afterLoss, head, restored }: Anchor): string =>
  [
    `${FIRST_LINE}\n`,
    `first-key ${firstKey}\n`,
    ...afterLoss.map(afterLossLine),
    ...(restored === null ? [] : [`restored ${restored}\n`]),
    ...(head === null ? [] : [`${headLine(head)}\n`]),
  ].join('');

/**
 * Reads an anchor to which heads were appended. What a sudden end of the machine left of a last line is passed over.
 * @throws AppError ALTERED naming the line that is none.
 */
export function parseAnchor(text: string): Anchor {
  const [title, first, ...lines] = text
    .slice(0, text.lastIndexOf('\n') + 1)
    .split('\n')
    .slice(0, -1);
  if (title !== FIRST_LINE) throw noAnchor(1, `"${FIRST_LINE}"`);
  const firstKey = FIRST_KEY.exec(first ?? '')?.[1];
  if (firstKey === undefined) throw noAnchor(2, '"first-key" and a fingerprint');
  const afterLoss: AfterLoss[] = [];
  let restored: string | null = null;
  let head: Note | null = null;
  let size = 0;
  for (const [index, line] of lines.entries()) {
    const [, replaces, fingerprint] = AFTER_LOSS.exec(line) ?? [];
    if (replaces !== undefined && fingerprint !== undefined) {
      afterLoss.push({ replaces, fingerprint });
      continue;
    }
    const told = RESTORED.exec(line)?.[1];
    if (told !== undefined) {
      restored = told;
      continue;
    }
    const note = headIn(line, index + 3);
    const covers = parseCheckpoint(note.text).size;
    // Two processes may append in another order than they changed.
    if (covers >= size) [head, size] = [note, covers];
  }
  return { firstKey, afterLoss, head, restored };
}

function headIn(line: string, number: number): Note {
  try {
    const note = parseHead(line);
    parseCheckpoint(note.text);
    return note;
  } catch {
    throw noAnchor(number, 'a head of the audit trail as "ledger head" prints it');
  }
}

const noAnchor = (line: number, expected: string): AppError =>
  new AppError('ALTERED', `line ${line} of the anchor is not ${expected}`);
