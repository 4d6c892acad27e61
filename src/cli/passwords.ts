import readline from 'node:readline';
import { BadInputError } from '../base/errors.js';

/** A password for each person: asked for on the terminal one after the other, or one a line from standard input. */
export async function passwordsOf(persons: readonly string[], fromStdin: boolean): Promise<string[]> {
  if (fromStdin) return linesOfStdin(persons.length);
  const passwords: string[] = [];
  for (const person of persons) passwords.push(await askHidden(`Password of ${person}: `, '--password-stdin'));
  return passwords;
}

/** A passphrase: asked for on the terminal, or the first line from standard input. */
export async function passphraseOf(question: string, fromStdin: boolean): Promise<string> {
  return fromStdin ? (await linesOfStdin(1))[0]! : askHidden(question, '--passphrase-stdin');
}

/** Line by line, so that a line break does not become part of a password. */
async function linesOfStdin(count: number): Promise<string[]> {
  const lines = readline.createInterface({ input: process.stdin });
  const found: string[] = [];
  for await (const line of lines) {
    found.push(line);
    if (found.length === count) break;
  }
  lines.close();
  return Array.from({ length: count }, (_, index) => found[index] ?? '');
}

/** Asks on the terminal without showing what is typed. */
function askHidden(question: string, option: string): Promise<string> {
  if (!process.stdin.isTTY) throw noTerminal(option);
  return new Promise((resolve) => {
    const lines = readline.createInterface({ input: process.stdin, output: process.stderr, terminal: true });
    process.stderr.write(question);
    // readline writes what is typed through this method; the question is out already.
    (lines as unknown as { _writeToOutput(text: string): void })._writeToOutput = () => {};
    lines.question('', (answer) => {
      lines.close();
      process.stderr.write('\n');
      resolve(answer);
    });
  });
}

const noTerminal = (field: string) =>
  new BadInputError([
    {
      code: 'option',
      field,
      found: 'no terminal to ask on',
      expected: 'the option, with what it asks for on standard input',
      remedy: 'write one of these',
    },
  ]);
