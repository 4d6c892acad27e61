import { type NumberParts, numberParts } from '../base/reported-number.js';
import type { Text } from './text-layout.js';

/** The parts of a plain number as it was reported, link or not; nothing for any other text, which is set as text. */
export function decimalParts(cell: Text): NumberParts | undefined {
  const plain = plainText(cell);
  return plain === undefined ? undefined : numberParts(plain);
}

/** The text of a cell that is set in one face. */
function plainText(cell: Text): string | undefined {
  if (typeof cell === 'string') return cell;
  const [only, ...more] = cell;
  if (only === undefined || more.length > 0) return undefined;
  if (typeof only === 'string') return only;
  return only.style === undefined ? only.text : undefined;
}
