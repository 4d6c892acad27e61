import { sha256Hex } from '../dossier/canonical.js';

/** A longer text is known again by its SHA-256: thousands of whole ones would be held for nothing but that. */
const LONGEST_KEY = 1000;

/**
 * Keeps what was read from texts, frozen: the same text is read again and again, and always says the same. What was read
 * longest ago goes first. What cannot be read is not kept.
 */
export class ReadOnce<T> {
  private readonly kept = new Map<string, T>();

  /** @param most that are kept. */
  constructor(private readonly most: number) {}

  of(text: string, read: () => T): T {
    const key = text.length > LONGEST_KEY ? sha256Hex(text) : text;
    const found = this.kept.get(key) ?? frozen(read());
    this.kept.delete(key);
    this.kept.set(key, found);
    if (this.kept.size > this.most) this.kept.delete(this.kept.keys().next().value!);
    return found;
  }
}

function frozen<T>(value: T): T {
  if (value === null || typeof value !== 'object') return value;
  for (const inner of Object.values(value)) frozen(inner);
  return Object.freeze(value);
}
