import { Controller, Get, Header } from '@nestjs/common';
import { z } from 'zod';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { PROBLEM_TITLES } from '../report/phrases/problems.js';
import { Access, NoCases } from './access.js';
import { HTML } from './html.js';
import { HTTP_STATUS, problemType } from './http-problem.js';
import { type Endpoint, endpointsOf, openApiDocument } from './open-api.js';
import { Operation } from './operation.js';
import { Pages } from './pages.js';
import { Routes } from './routes.js';

/** What programs can ask, for people who write them and for their tools. */
@Controller()
export class ApiController {
  constructor(
    private readonly pages: Pages,
    private readonly routes: Routes,
  ) {}

  @Access('signed in')
  @NoCases()
  @Get('api')
  @Header(...HTML)
  show(): string {
    const problems = Object.entries(HTTP_STATUS).map(([code, status]) => ({
      code,
      status,
      title: PROBLEM_TITLES[code as keyof typeof HTTP_STATUS],
      anchor: problemType(code as keyof typeof HTTP_STATUS).split('#')[1]!,
    }));
    const endpoints = endpointsOf(this.routes.all());
    return this.pages.render('api', PAGE_TITLES.api, {
      endpoints: endpoints.map(({ method, path, route, operation: { summary } }) => ({
        method: method.toUpperCase(),
        path,
        summary,
        status: route.status,
        query: queryFieldsOf(route.inputs),
      })),
      problems,
      example: exampleOf(endpoints),
    });
  }

  @Access('signed in')
  @NoCases()
  @Operation({ summary: 'The OpenAPI 3.1 document', answer: z.looseObject({ openapi: z.string() }) })
  @Get('api/v1/openapi.json')
  openApi() {
    return openApiDocument(endpointsOf(this.routes.all()));
  }
}

const queryFieldsOf = (inputs: Endpoint['route']['inputs']): string[] =>
  inputs.flatMap(({ from, schema }) =>
    from === 'query' && schema instanceof z.ZodObject ? Object.keys(schema.shape) : [],
  );

/** A request and where it goes. @throws Error when no operation is marked for it. */
function exampleOf(endpoints: readonly Endpoint[]): { name: string; path: string; input: unknown } {
  for (const { path, operation } of endpoints) {
    const one = operation.each?.().find(({ shown }) => shown);
    if (one) return { name: one.value, path: path.replace(/\{\w+\}/, one.value), input: one.example };
  }
  throw new Error('no operation of the API is marked as its example');
}
