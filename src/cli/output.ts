import { shownPlainly } from '../base/characters.js';
import { AppError, BadInputError, exitCodeOf, problemText } from '../base/errors.js';

/** Where a command writes. Texts go to people, one JSON object to programs. */
export interface Output {
  readonly json: boolean;
  line(text?: string): void;
  object(value: unknown): void;
}

export function outputFor(json: boolean): Output {
  return {
    json,
    line: (text = '') => {
      if (!json) process.stdout.write(`${shownPlainly(text)}\n`);
    },
    object: (value) => {
      if (json) process.stdout.write(`${JSON.stringify(value)}\n`);
    },
  };
}

/** Says what went wrong, for a person or a program, and returns the exit code. */
export function report(error: unknown, json: boolean): number {
  const code = exitCodeOf(error);
  if (json) {
    const known = error instanceof AppError ? { code: error.code, ...error.facts } : { code: 'UNEXPECTED' };
    process.stdout.write(`${JSON.stringify({ error: { message: (error as Error).message, ...known } })}\n`);
  } else if (error instanceof BadInputError) {
    const { problems, stored } = error;
    process.stderr.write(`${storedText(stored)}${problems.length} problem${problems.length === 1 ? '' : 's'}.\n`);
    for (const problem of problems) process.stderr.write(`  ${shownPlainly(problemText(problem))}\n`);
  } else if (error instanceof AppError) process.stderr.write(`${shownPlainly(error.message)}\n`);
  else process.stderr.write(`${(error as Error).stack ?? String(error)}\n`);
  return code;
}

function storedText(stored: BadInputError['stored']): string {
  if (stored === undefined) return '';
  return stored.length === 0 ? 'Nothing was stored: ' : `Stored: ${stored.join(', ')}. Nothing else was: `;
}

/** Columns of equal width, for a terminal. */
export function table(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => row[column]?.length ?? 0)));
  return rows.map((row) =>
    row
      .map((cell, column) => cell.padEnd(widths[column]!))
      .join('  ')
      .trimEnd(),
  );
}
