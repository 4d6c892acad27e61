import fs from 'node:fs';
import { Command } from 'commander';
import { leafCommands, withCommandTable } from '../../src/cli/command-table.js';
import { exits } from '../../src/cli/exits.js';
import { buildProgram } from '../../src/program.js';

const readme = fs.readFileSync('README.md', 'utf8');

it('README.md has the commands as they are (else: npm run docs)', () => {
  expect(withCommandTable(readme, buildProgram())).toBe(readme);
});

it('has a row for every command, with what it does and its exit codes', () => {
  const rows = readme.split('\n').filter((line) => line.startsWith('| `'));
  const commands = leafCommands(buildProgram());
  expect(rows.length).toBeGreaterThanOrEqual(commands.length);
  for (const command of commands) {
    expect(command.description()).not.toBe('');
    expect(rows.filter((row) => row.includes(`| ${command.description()} | 0`))).toHaveLength(1);
  }
});

it('shows exit codes in --help, the own meaning instead of the general one', () => {
  const command = exits(new Command('weigh'), { 4: 'too light to tell', 6: 'the balance was moved' }).exitOverride();
  let help = '';
  command.configureOutput({ writeOut: (text) => (help += text) }).outputHelp();
  expect(help).toContain('  0  done\n');
  expect(help).toMatch(/ {2}4 {2}too light to tell\n {2}6 {2}the balance was moved\n {2}8 {2}/);
});

it('writes arguments and needed options, escapes bars, and leaves the rest of a text alone', () => {
  const program = new Command('lotwright');
  const pan = program.command('pan').description('balances');
  exits(pan.command('weigh'), { 7: 'no such pan' })
    .argument('<pan>')
    .argument('[more...]')
    .requiredOption('--unit <g|mg>', 'unit')
    .option('--slow', 'twice')
    .description('weighs');
  const text = withCommandTable(
    'before\n<!-- commands: written by npm run docs -->\nstale row\n<!-- /commands -->\nafter\n',
    program,
  );
  expect(text).toContain('\n| `pan weigh <pan> [more...] --unit <g\\|mg>` | weighs | 0; 7 no such pan |\n');
  expect(text).not.toContain('stale row');
  expect([text.startsWith('before\n<!--'), text.endsWith('<!-- /commands -->\nafter\n')]).toEqual([true, true]);
});

it('refuses a command without exit codes and a README without markers', () => {
  const program = new Command('lotwright');
  program.command('weigh').description('weighs');
  expect(() => withCommandTable(readme, program)).toThrow('"weigh" declares no exit codes');
  expect(() => withCommandTable('no markers', buildProgram())).toThrow('needs a line "<!-- commands');
});
