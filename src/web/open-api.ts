import { Reflector } from '@nestjs/core';
import { z } from 'zod';
import { programName } from '../base/settings.js';
import { Access, TakesTokens } from './access.js';
import { API_ROOT } from './error-filter.js';
import { Operation, type OperationOfOne } from './operation.js';
import { ProblemAnswer } from './problem-answer.js';
import type { Route, RouteInput } from './routes.js';
import { FollowsFromRecords } from './unchanged.js';
import { TakesFiles } from './upload.js';

/** A route of the API, as its page and the OpenAPI document tell it. */
export interface Endpoint {
  readonly method: string;
  /** Below `/api/v1`, with `{name}` for what varies. */
  readonly path: string;
  readonly route: Route;
  readonly operation: Operation;
  /** Whether it can be asked without being signed in. */
  readonly open: boolean;
}

const reflector = new Reflector();

/** Routes of the API by path. @throws Error for one that says nothing of itself. */
export function endpointsOf(routes: readonly Route[]): Endpoint[] {
  return routes
    .filter(({ path }) => path.startsWith(`${API_ROOT}/`))
    .map((route) => {
      const operation = reflector.get(Operation, route.handler);
      if (!operation) throw new Error(`${route.name} of the API has no @Operation`);
      const path = route.path.slice(API_ROOT.length).replaceAll(/:(\w+)/g, '{$1}');
      const open = reflector.get(Access, route.handler) === 'everyone';
      return { method: route.method.toLowerCase(), path, route, operation, open };
    })
    .sort((a, b) => (a.path < b.path ? -1 : a.path > b.path ? 1 : 0));
}

/** The OpenAPI 3.1 document of the API, made from the decorators of its routes and the schemas that also check requests. */
export function openApiDocument(endpoints: readonly Endpoint[]) {
  const paths: Record<string, Record<string, unknown>> = {};
  for (const endpoint of endpoints) {
    const { method, operation } = endpoint;
    for (const [path, described] of operation.each
      ? operation.each().map((one) => operationOfOne(endpoint, one))
      : [[endpoint.path, operationOf(endpoint)] as const]) {
      paths[path] = { ...paths[path], [method]: described };
    }
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Lotwright',
      version: 'v1',
      description: `The services of the pages and the command line, by ${programName()}. It proposes; people decide.`,
    },
    servers: [{ url: API_ROOT }],
    paths,
    security: [{ session: [], token: [] }],
    components: {
      schemas: { Problem: schemaOf(ProblemAnswer, 'output') },
      securitySchemes: {
        session: {
          type: 'apiKey',
          in: 'cookie',
          name: 'lotwright-…',
          description: 'Set by POST /session; its name ends in the first eight digits of the installation fingerprint.',
        },
        token: {
          type: 'apiKey',
          in: 'header',
          name: 'X-CSRF-Token',
          description: 'The csrf of the session. Needed by every request that is no GET.',
        },
        program: {
          type: 'http',
          scheme: 'bearer',
          description: 'A token of a person for a program of theirs, which takes documents in and does nothing else.',
        },
      },
    },
  };
}

const PROBLEM = {
  description: 'What went wrong (RFC 9457)',
  content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } },
};

function operationOf({ method, path, route, operation: { summary, answer }, open }: Endpoint) {
  const body = bodyOf(route);
  return {
    operationId: `${method}${path.replaceAll(/[^a-z0-9]+/gi, '-').replace(/-$/, '')}`,
    summary,
    parameters: route.inputs.flatMap(parametersOf),
    ...(body ? { requestBody: { required: true, content: body } } : {}),
    ...(open ? { security: [] } : {}),
    ...(reflector.get(TakesTokens, route.handler) ? { security: [{ session: [], token: [] }, { program: [] }] } : {}),
    responses: {
      [route.status]: answerOf(summary, answer),
      ...(reflector.get(FollowsFromRecords, route.handler) ? { 304: STANDS } : {}),
      default: PROBLEM,
    },
  };
}

const STANDS = { description: 'The answer that bore the ETag of If-None-Match still stands' };

/** JSON, or a form with files beside its fields. */
function bodyOf({ inputs, handler }: Route): Record<string, unknown> | undefined {
  const schema = inputs.find(({ from }) => from === 'body')?.schema;
  const files = reflector.get(TakesFiles, handler);
  if (files === undefined) return schema && json(schemaOf(schema, 'input'));
  const { properties, ...fields } = (schema ? schemaOf(schema, 'input') : {}) as { properties?: object };
  const file = { type: 'array', items: { type: 'string', format: 'binary' } };
  return { 'multipart/form-data': { schema: { ...fields, properties: { ...properties, [files.field]: file } } } };
}

function answerOf(summary: string, answer: Operation['answer']) {
  if (answer === 'nothing') return { description: 'Done' };
  if (answer === 'a file') return { description: 'The bytes as received', content: { 'application/octet-stream': {} } };
  return { description: summary, content: json(schemaOf(answer, 'output')) };
}

/** @returns the path with the value in the place of the part, and what is asked there. */
function operationOfOne(
  { path, route }: Endpoint,
  { value, summary, description, body, example, answer }: OperationOfOne,
) {
  const own = path.replace(/\{\w+\}/, value);
  const described = {
    operationId: own.slice(1).replaceAll('/', '-'),
    summary,
    description,
    requestBody: { required: true, content: { 'application/json': { schema: embedded(body), example } } },
    responses: { [route.status]: { description: 'The answer', content: json(embedded(answer)) }, default: PROBLEM },
  };
  return [own, described] as const;
}

/** One part of the path, or every field of the query. */
function parametersOf({ from, name, schema }: RouteInput) {
  if (from === 'body' || schema === undefined) return [];
  const place = from === 'params' ? 'path' : 'query';
  const whole = schemaOf(schema, 'input');
  if (name !== undefined) return [{ name, in: place, required: place === 'path', schema: whole }];
  const { properties = {}, required = [] } = whole as { properties?: Record<string, object>; required?: string[] };
  return Object.entries(properties).map(([field, own]) => ({
    name: field,
    in: place,
    required: place === 'path' || required.includes(field),
    schema: own,
  }));
}

const json = (schema: object) => ({ 'application/json': { schema } });

const schemaOf = (schema: z.ZodType, io: 'input' | 'output') =>
  embedded(z.toJSONSchema(schema, { unrepresentable: 'any', io }));

/** Inside the document every schema has the dialect that OpenAPI 3.1 sets. */
function embedded({ $schema: _dialect, ...schema }: { readonly $schema?: unknown }): object {
  return schema;
}
