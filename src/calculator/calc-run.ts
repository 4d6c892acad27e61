import { createInterface } from 'node:readline';
import { text } from 'node:stream/consumers';
import type { Command } from 'commander';
import { AppError, BadInputError } from '../base/errors.js';
import { type AnyCalculation, runCalculation } from '../calculations/calculation.js';
import { inputFields } from '../calculations/calculation-fields.js';
import { CALCULATIONS, calculationNamed } from '../calculations/catalogue.js';
import { type Output, table } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import { CALCULATION_HELP } from '../report/phrases/commands/calculator.js';

export async function run(
  out: Output,
  _common: CommonOptions,
  name: string | undefined,
  options: { list?: boolean; lines?: boolean; help?: boolean },
  command: Command,
): Promise<number> {
  if (options.help && name === undefined) {
    command.outputHelp();
    return 0;
  }
  if (options.list || name === undefined) {
    out.object({ calculations: CALCULATIONS.map((item) => ({ name: item.name, purpose: item.purpose })) });
    for (const row of table(CALCULATIONS.map((item) => [item.name, item.purpose]))) out.line(row);
    return 0;
  }
  const calculation = calculationNamed(name);
  if (options.help) {
    process.stdout.write(helpText(calculation));
    return 0;
  }
  return options.lines ? answerLines(calculation) : answerOne(calculation);
}

async function answerOne(calculation: AnyCalculation): Promise<number> {
  const answer = runCalculation(calculation, parseJson(await text(process.stdin)));
  process.stdout.write(`${JSON.stringify(answer)}\n`);
  return 0;
}

async function answerLines(calculation: AnyCalculation): Promise<number> {
  let code = 0;
  for await (const line of createInterface({ input: process.stdin })) {
    if (line.trim() === '') continue;
    try {
      process.stdout.write(`${JSON.stringify(runCalculation(calculation, parseJson(line)))}\n`);
    } catch (error) {
      if (!(error instanceof AppError)) throw error;
      const { message, code: kind, facts } = error;
      process.stdout.write(`${JSON.stringify({ error: { message, code: kind, ...facts } })}\n`);
      code = 2;
    }
  }
  return code;
}

function parseJson(input: string): unknown {
  try {
    return JSON.parse(input);
  } catch (error) {
    throw new BadInputError([
      {
        code: 'json',
        field: 'standard input',
        found: (error as Error).message,
        expected: 'one JSON object',
        remedy: 'lotwright calc NAME --help shows the fields',
      },
    ]);
  }
}

function helpText(calculation: AnyCalculation): string {
  const variants = inputFields(calculation).map((fields) => [
    ...table(fields.map((field) => [`  ${field.name}${field.required ? '' : '?'}`, field.type, field.meaning])),
    '',
  ]);
  const output = Object.entries(calculation.output).map(([name, meaning]) => [`  ${name}`, meaning]);
  return [
    CALCULATION_HELP.purpose(calculation.name, calculation.purpose),
    '',
    CALCULATION_HELP.input,
    ...variants.flat(),
    CALCULATION_HELP.output,
    ...table(output),
    '',
    CALCULATION_HELP.formula,
    calculation.formula,
    '',
    CALCULATION_HELP.source(calculation.source),
    '',
    CALCULATION_HELP.example(calculation.name, JSON.stringify(calculation.example.input)),
    '',
  ].join('\n');
}
