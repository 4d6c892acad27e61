import { Controller, Get, Header } from '@nestjs/common';
import { calculationNamed } from '../calculations/catalogue.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { HTTP_PROBLEMS, problemType } from '../web/http-problem.js';
import { Pages } from '../web/pages.js';
import { ENDPOINTS } from './openapi.js';

/** What programs can ask, for people who write them. */
@Controller('api')
export class ApiPageController {
  constructor(private readonly pages: Pages) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  show(): string {
    const problems = Object.entries(HTTP_PROBLEMS).map(([code, { status, title }]) => ({
      code,
      status,
      title,
      anchor: problemType(code as keyof typeof HTTP_PROBLEMS).split('#')[1]!,
    }));
    const { name, example: worked } = calculationNamed('mass-loss-rate');
    const example = { name, input: worked.input };
    return this.pages.render('api', 'Programming interface', { endpoints: ENDPOINTS, problems, example });
  }
}
