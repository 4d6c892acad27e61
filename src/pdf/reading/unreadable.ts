import { AppError } from '../../base/errors.js';

/** Why a file cannot be read as a PDF. */
export type WhyUnreadable =
  | { readonly code: 'no whole PDF' | 'cut' | 'locked' | 'too slow' }
  /** Unpacked it comes to more than a record may. */
  | { readonly code: 'too much' }
  | { readonly code: 'attachment unreadable'; readonly name: string };

/** A PDF that cannot be read, from whatever hands it came. It may come from another thread, so `why` stands in its facts. */
export class UnreadablePdf extends AppError {
  constructor(why: WhyUnreadable) {
    super('ALTERED', `the file cannot be read as a PDF: ${why.code}`, { why });
  }
}

/** Undefined for any other error. */
export function whyUnreadable(error: unknown): WhyUnreadable | undefined {
  return error instanceof AppError && error.code === 'ALTERED' ? (error.facts.why as WhyUnreadable) : undefined;
}
