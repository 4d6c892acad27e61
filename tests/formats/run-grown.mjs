// Runs the commands that come as JSON on standard input, and prints what each of them printed, with its exit code.
import 'reflect-metadata';
import fs from 'node:fs';

const { buildProgram } = await import('./dist/program.js');
const ended = [];
for (const words of JSON.parse(fs.readFileSync(0, 'utf8'))) {
  let text = '';
  const { write } = process.stdout;
  process.stdout.write = (chunk) => {
    text += String(chunk);
    return true;
  };
  process.exitCode = 0;
  await buildProgram().parseAsync(['node', 'lotwright', ...words]);
  process.stdout.write = write;
  ended.push({ code: Number(process.exitCode), text });
}
process.exitCode = 0;
process.stdout.write(JSON.stringify(ended));
