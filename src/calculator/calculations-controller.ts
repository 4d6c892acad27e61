import { Body, Controller, Get, Header, HttpCode, Param, Post } from '@nestjs/common';
import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { type Answer, type AnyCalculation, runCalculation } from '../calculations/calculation.js';
import { inputFields } from '../calculations/calculation-fields.js';
import { CALCULATIONS, calculationNamed } from '../calculations/catalogue.js';
import { exampleDocument } from '../calculations/formulas-doc.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { PROBLEMS } from '../report/phrases/problems.js';
import { Access, NoCases, OpenToAuditors } from '../web/access.js';
import type { FormAnswer } from '../web/form-answer.js';
import { PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { calculationOperations } from './calculation-operations.js';
import { CalculationForm, CalculationInput, CalculationsAnswer } from './calculation-schemas.js';

/** What a person typed into the form, with what came of it. */
interface Attempt {
  readonly input: string;
  readonly answer?: Answer;
  readonly error?: { readonly field: string; readonly reason: string };
}

/** One page for each calculation: fields, formula, source, a worked example, and a form that computes; and all of them for programs. */
@Controller()
export class CalculationsController {
  constructor(private readonly pages: Pages) {}

  @Access('signed in')
  @NoCases()
  @Get('calculations')
  @Header(...HTML)
  index(): string {
    return this.pages.render('calculations', PAGE_TITLES.calculations, { calculations: CALCULATIONS });
  }

  @Access('signed in')
  @NoCases()
  @Get('calculations/:name')
  @Header(...HTML)
  show(@Param('name', NAMED) name: string): string {
    const calculation = calculationNamed(name);
    return this.page(calculation, { input: JSON.stringify(calculation.example.input, null, 2) });
  }

  /** The page with the answer: it stores nothing that an address could lead to. */
  @Access('signed in')
  @NoCases()
  @OpenToAuditors()
  @PagePost('calculations/:name', {
    typed: CalculationForm,
    show: (controller: CalculationsController, { typed, params, error }) =>
      controller.answered(calculationNamed(params.name!), { ...typed, error: troubleOf(error) }),
  })
  compute(@Param('name', NAMED) name: string, @Body(filledIn(CalculationForm)) { input }: CalculationForm): FormAnswer {
    const calculation = calculationNamed(name);
    return this.answered(calculation, { input, answer: runCalculation(calculation, JSON.parse(input)) });
  }

  @Access('signed in')
  @Operation({ summary: 'Every calculation', answer: CalculationsAnswer })
  @NoCases()
  @Get('api/v1/calc')
  all(): CalculationsAnswer {
    return { calculations: CALCULATIONS.map(({ name, purpose, source }) => ({ name, purpose, source })) };
  }

  @Access('signed in')
  @NoCases()
  @OpenToAuditors()
  @Operation({
    summary: 'One calculation: the body is its input, the answer its output',
    answer: z.looseObject({}),
    each: calculationOperations,
  })
  @Post('api/v1/calc/:name')
  @HttpCode(200)
  calculate(@Param('name', NAMED) name: string, @Body({ schema: CalculationInput }) input: CalculationInput): Answer {
    return runCalculation(calculationNamed(name), input);
  }

  private answered(calculation: AnyCalculation, tried: Attempt): FormAnswer {
    return { to: `/calculations/${calculation.name}`, page: this.page(calculation, tried), status: 200 };
  }

  private page(calculation: AnyCalculation, tried: Attempt): string {
    const variants = inputFields(calculation);
    const field = tried.error?.field.split('.')[0];
    return this.pages.render('calculation', calculation.name, {
      calculation,
      variants,
      example: exampleDocument(calculation),
      tried,
      errors: tried.error ? [tried.error] : [],
      errorField: variants.flat().find((item) => item.name === field)?.name,
    });
  }
}

/** @throws the error itself when the input is not to blame. */
function troubleOf(error: unknown): { field: string; reason: string } {
  if (error instanceof CalculationError) return { field: error.field, reason: error.reason };
  if (error instanceof SyntaxError) return { field: 'input', reason: PROBLEMS.noJson(error.message) };
  throw error;
}
