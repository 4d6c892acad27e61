import { Readable } from 'node:stream';
import { vi } from 'vitest';
import { ANY_EXITS, ownExits } from '../../src/cli/exits.js';
import { buildProgram } from '../../src/program.js';

/**
 * What a command prints on both outputs, and its exit code, which has to be among those that it declares.
 * @param input what it finds on its standard input, to the end.
 * @throws CommanderError for wrong usage.
 */
export async function runCommand(
  data: string,
  words: readonly string[],
  input = '',
): Promise<{ code: number; text: string }> {
  let text = '';
  const take = (chunk: unknown): boolean => {
    text += String(chunk);
    return true;
  };
  const outputs = [process.stdout, process.stderr].map((stream) => vi.spyOn(stream, 'write').mockImplementation(take));
  const stdin = Object.getOwnPropertyDescriptor(process, 'stdin')!;
  Object.defineProperty(process, 'stdin', { configurable: true, value: Readable.from([input]) });
  let declared: string[] = [];
  const program = buildProgram();
  program.hook('postAction', (_, command) => {
    declared = Object.keys({ ...ANY_EXITS, ...ownExits(command) });
  });
  try {
    await program.parseAsync(['node', 'lotwright', '--data', data, ...words]);
    const code = Number(process.exitCode);
    expect(declared).toContain(String(code));
    return { code, text };
  } finally {
    process.exitCode = 0;
    Object.defineProperty(process, 'stdin', stdin);
    for (const output of outputs) output.mockRestore();
  }
}
