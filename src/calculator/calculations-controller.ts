import { Body, Controller, Get, Header, HttpCode, Param, Post } from '@nestjs/common';
import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { type Answer, type AnyCalculation, runCalculation } from '../calculations/calculation.js';
import { inputFields } from '../calculations/calculation-fields.js';
import { CALCULATIONS, calculationNamed } from '../calculations/catalogue.js';
import { exampleDocument } from '../calculations/formulas-doc.js';
import { type CalcFault, readInput, type TypedCalc, textsOf, type WrongField } from '../calculations/typed-input.js';
import { CALCULATION_FORM } from '../report/phrases/calculation-form.js';
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
import { AS_JSON, CalculationForm, CalculationInput, CalculationsAnswer, DO } from './calculation-schemas.js';
import { calculationErrors, calculationForm } from './calculation-view.js';

/** What a person typed, with what came of it. */
interface Attempt {
  readonly typed: TypedCalc;
  /** The whole input as JSON, where it was typed so. */
  readonly json?: string;
  readonly answer?: Answer;
  readonly wrong?: readonly WrongField[];
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
    return this.page(calculation, { typed: textsOf(calculation, calculation.example.input) });
  }

  /** The page with the answer: it stores nothing that an address could lead to. */
  @Access('signed in')
  @NoCases()
  @OpenToAuditors()
  @PagePost('calculations/:name', {
    typed: CalculationForm,
    show: (controller: CalculationsController, { typed, params, error }) =>
      controller.refused(calculationNamed(params.name!), typed, error),
  })
  compute(@Param('name', NAMED) name: string, @Body(filledIn(CalculationForm)) sent: CalculationForm): FormAnswer {
    const calculation = calculationNamed(name);
    const json = sent[AS_JSON];
    if (typeof json === 'string') {
      const input = JSON.parse(json);
      const answer = runCalculation(calculation, input);
      return this.answered(calculation, { typed: textsOf(calculation, input), answer });
    }
    if (sent[DO] !== undefined) return this.answered(calculation, { typed: sent });
    const { input, wrong } = readInput(calculation, sent);
    if (wrong.length > 0) return this.answered(calculation, { typed: sent, wrong });
    // As it was read, so that a comma that was taken for something else is seen.
    const answer = runCalculation(calculation, input);
    return this.answered(calculation, { typed: textsOf(calculation, input), answer });
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

  /** @throws the error itself when the input is not to blame. */
  private refused(calculation: AnyCalculation, sent: CalculationForm, error: unknown): FormAnswer {
    const says = troubleOf(error);
    const json = sent[AS_JSON];
    if (typeof json !== 'string') return this.answered(calculation, { typed: sent, wrong: [says] });
    const { place, fault } = says;
    const named = place === '' ? fault : { code: 'refused' as const, says: `${place}: ${faultSays(fault)}` };
    return this.answered(calculation, {
      typed: textsOf(calculation, calculation.example.input),
      json,
      wrong: [{ place: AS_JSON, fault: named }],
    });
  }

  private page(calculation: AnyCalculation, { typed, json, answer, wrong = [] }: Attempt): string {
    const { nodes, show } = calculationForm(calculation, { typed, wrong });
    return this.pages.render('calculation', calculation.name, {
      calculation,
      variants: inputFields(calculation),
      example: exampleDocument(calculation),
      nodes,
      show,
      json: json ?? JSON.stringify(readInput(calculation, typed).input ?? calculation.example.input, null, 2),
      isJson: json !== undefined,
      answer,
      errors: calculationErrors(calculation, { typed, wrong }),
      errorTitle: CALCULATION_FORM.notComputed,
    });
  }
}

const faultSays = (fault: CalcFault): string => (fault.code === 'refused' ? fault.says : '');

/** @throws the error itself when the input is not to blame. */
function troubleOf(error: unknown): WrongField {
  if (error instanceof CalculationError) return { place: error.field, fault: { code: 'refused', says: error.reason } };
  if (error instanceof SyntaxError)
    return { place: '', fault: { code: 'refused', says: PROBLEMS.noJson(error.message) } };
  throw error;
}
