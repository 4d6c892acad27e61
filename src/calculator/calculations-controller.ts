import { Body, Controller, Get, Header, HttpCode, Param, Post } from '@nestjs/common';
import { CalculationError } from '../base/errors.js';
import { type Answer, type AnyCalculation, runCalculation } from '../calculations/calculation.js';
import { inputFields } from '../calculations/calculation-fields.js';
import { CALCULATIONS, calculationNamed } from '../calculations/catalogue.js';
import { exampleDocument } from '../calculations/formulas-doc.js';
import { Access, StoresNothing } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readRequest } from '../web/request-checks.js';
import { CalculationForm } from '../web/request-schemas.js';

/** What a person typed into the form, with what came of it. */
interface Attempt {
  readonly input: string;
  readonly answer?: Answer;
  readonly error?: { readonly field: string; readonly reason: string };
}

/** One page for each calculation: fields, formula, source, a worked example, and a form that computes. */
@Controller('calculations')
export class CalculationsController {
  constructor(private readonly pages: Pages) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  index(): string {
    return this.pages.render('calculations', 'Calculations', { calculations: CALCULATIONS });
  }

  @Access('signed in')
  @Get(':name')
  @Header(...HTML)
  show(@Param('name') name: string): string {
    const calculation = calculationNamed(name);
    return this.page(calculation, { input: JSON.stringify(calculation.example.input, null, 2) });
  }

  @Access('signed in')
  @StoresNothing()
  @Post(':name')
  @HttpCode(200)
  @Header(...HTML)
  compute(@Param('name') name: string, @Body() body: unknown): string {
    const calculation = calculationNamed(name);
    const { input } = readRequest(CalculationForm, body);
    return this.page(calculation, attempt(calculation, input));
  }

  private page(calculation: AnyCalculation, tried: Attempt): string {
    const variants = inputFields(calculation);
    const field = tried.error?.field.split('.')[0];
    return this.pages.render('calculation', `${tried.error ? 'Error: ' : ''}${calculation.name}`, {
      calculation,
      variants,
      example: exampleDocument(calculation),
      tried,
      errorField: variants.flat().find((item) => item.name === field)?.name,
    });
  }
}

function attempt(calculation: AnyCalculation, input: string): Attempt {
  try {
    return { input, answer: runCalculation(calculation, JSON.parse(input)) };
  } catch (error) {
    if (error instanceof CalculationError) return { input, error: { field: error.field, reason: error.reason } };
    if (error instanceof SyntaxError) return { input, error: { field: 'input', reason: `no JSON: ${error.message}` } };
    throw error;
  }
}
