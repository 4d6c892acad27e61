/** One thing that is wrong with something a person gave us, said so that they can find and mend it. */
export interface Problem {
  /** Stable name of the rule that was broken, for tests and programs. */
  readonly code: string;
  /** Path of the file inside the folder that was taken in. */
  readonly file?: string;
  /** Line of that file, counted from 1. */
  readonly line?: number;
  /** Place in that line, in characters from 1, where something is wrong with the text itself. */
  readonly column?: number;
  /** Where in the document: `zones[2].layers.from`, or the column of a table. */
  readonly field?: string;
  readonly found?: string;
  readonly expected: string;
  readonly remedy: string;
}

export type ErrorCode =
  | 'BAD_INPUT'
  | 'CALCULATION_INPUT'
  | 'NOT_FOUND'
  | 'NOT_SIGNED_IN'
  | 'REFUSED'
  | 'LOCKED'
  | 'CONFLICT'
  | 'BUSY'
  | 'ALTERED'
  | 'LATER_FORM'
  | 'STORAGE'
  | 'TOO_MANY'
  | 'UNEXPECTED';

/** An error with a code and facts. It knows nothing of HTTP or exit codes: `exitCodeOf` and the web filter map it. */
export class AppError extends Error {
  constructor(
    readonly code: ErrorCode,
    message: string,
    readonly facts: Readonly<Record<string, unknown>> = {},
  ) {
    super(message);
    this.name = new.target.name;
  }
}

/** Everything that is wrong with what was given, all at once. */
export class BadInputError extends AppError {
  /** @param stored what had been stored of it when that was found, in words; absent where nothing is ever stored in parts. */
  constructor(
    readonly problems: readonly Problem[],
    readonly stored?: readonly string[],
  ) {
    super(
      'BAD_INPUT',
      problems.map(problemText).join('\n'),
      stored === undefined ? { problems } : { problems, stored },
    );
  }
}

/** A calculation cannot be done with this input. `field` names the input field, `reason` says why, in words. */
export class CalculationError extends AppError {
  constructor(
    readonly field: string,
    readonly reason: string,
  ) {
    super('CALCULATION_INPUT', `${field}: ${reason}`, { field, reason });
  }
}

/** Something of a form that this version of the program does not know, and a later one does: it was not altered. */
export class LaterFormError extends AppError {
  constructor(
    readonly what: string,
    facts: Readonly<Record<string, unknown>> = {},
  ) {
    super('LATER_FORM', `${what}; a later version of the program reads it`, facts);
  }
}

export class NotFoundError extends AppError {
  constructor(
    readonly what: string,
    readonly key: string,
    where = 'in this data folder',
  ) {
    super('NOT_FOUND', `there is no ${what} "${key}" ${where}`, { what, key });
  }
}

export function problemText(problem: Problem): string {
  const { file, line, column, field, found, expected, remedy } = problem;
  const place = [file, line, column].filter(Boolean).join(':');
  const where = [file && place, field].filter(Boolean).join(', ');
  const seen = found === undefined ? '' : `found ${found}; `;
  return `${where ? `${where}: ` : ''}${seen}expected ${expected}; ${remedy}`;
}

/** Exit codes that an error decides; a command declares those that it sets itself (`cli/exits.ts`). */
export function exitCodeOf(error: unknown): number {
  if (!(error instanceof AppError)) return 1;
  const codes: Record<ErrorCode, number> = {
    BAD_INPUT: 2,
    CALCULATION_INPUT: 2,
    NOT_FOUND: 7,
    NOT_SIGNED_IN: 5,
    REFUSED: 5,
    LOCKED: 5,
    CONFLICT: 2,
    BUSY: 1,
    ALTERED: 6,
    LATER_FORM: 8,
    STORAGE: 1,
    TOO_MANY: 1,
    UNEXPECTED: 1,
  };
  return codes[error.code];
}
