import { z } from 'zod';
import { PROGRAM } from '../base/settings.js';
import type { AnyCalculation } from '../calculations/calculation.js';
import { inputSchema } from '../calculations/calculation-fields.js';
import { CALCULATIONS } from '../calculations/catalogue.js';
import { SignInRequest } from '../people/sign-in-requests.js';
import { SignRequest, UnitActRequest } from '../signing/sign-requests.js';
import { TraceQuery, TrendQuery } from '../web/request-schemas.js';
import {
  CalculationsAnswer,
  LotAnswer,
  LotsAnswer,
  ProblemAnswer,
  RecordAnswer,
  SessionAnswer,
  SignedAnswer,
  TraceAnswer,
  TrendAnswer,
  WaitingAnswer,
} from './api-schemas.js';

/** One operation of the API, as its page and the OpenAPI document tell it. */
export interface Endpoint {
  readonly method: 'get' | 'post' | 'delete';
  /** Below `/api/v1`, with `{name}` for what varies. */
  readonly path: string;
  readonly summary: string;
  readonly status: number;
  /** Left out where the answer is a file, or nothing. */
  readonly answer?: z.ZodType;
  readonly query?: z.ZodObject;
  readonly body?: z.ZodType;
  /** Whether it can be asked without being signed in. */
  readonly open?: true;
}

export const ENDPOINTS: readonly Endpoint[] = [
  {
    method: 'post',
    path: '/session',
    summary: 'Sign in: sets the cookie, and gives the token that every change carries',
    status: 200,
    answer: SessionAnswer,
    body: SignInRequest,
    open: true,
  },
  { method: 'get', path: '/session', summary: 'Who is signed in', status: 200, answer: SessionAnswer },
  { method: 'delete', path: '/session', summary: 'Sign out', status: 204 },
  {
    method: 'get',
    path: '/lots',
    summary: 'Lots with the verdict of each implant and what blocks it',
    status: 200,
    answer: LotsAnswer,
  },
  {
    method: 'get',
    path: '/lots/{lot}',
    summary: 'The latest frozen lot file, assessed',
    status: 200,
    answer: LotAnswer,
  },
  {
    method: 'post',
    path: '/lots/{lot}/assess',
    summary: 'Freeze the lot as it stands and assess it',
    status: 200,
    answer: LotAnswer,
  },
  {
    method: 'post',
    path: '/lots/{lot}/records',
    summary: 'Issue the record of the lot as it stands',
    status: 201,
    answer: RecordAnswer,
  },
  {
    method: 'get',
    path: '/waiting',
    summary: 'What waits for a signature, and who may give it',
    status: 200,
    answer: WaitingAnswer,
  },
  {
    method: 'post',
    path: '/sign',
    summary: 'Sign all of these things or none, one statement each',
    status: 200,
    answer: SignedAnswer,
    body: SignRequest,
  },
  {
    method: 'post',
    path: '/lots/{lot}/acts/{act}',
    summary: 'Place a hold (hold), lift it (lift-hold), or revoke a release (revoke)',
    status: 204,
    body: UnitActRequest,
  },
  {
    method: 'get',
    path: '/trace/{id}',
    summary: 'Where something came from and where it went',
    status: 200,
    answer: TraceAnswer,
    query: TraceQuery,
  },
  {
    method: 'get',
    path: '/trend',
    summary: 'A characteristic of a family over its builds',
    status: 200,
    answer: TrendAnswer,
    query: TrendQuery,
  },
  { method: 'get', path: '/calc', summary: 'Every calculation', status: 200, answer: CalculationsAnswer },
  { method: 'get', path: '/evidence/{sha256}', summary: 'A file as received', status: 200 },
];

/** The OpenAPI 3.1 document of the API, made from the schemas that also check requests. */
export function openApiDocument() {
  const paths: Record<string, Record<string, unknown>> = {};
  for (const endpoint of ENDPOINTS) {
    paths[endpoint.path] = { ...paths[endpoint.path], [endpoint.method]: operation(endpoint) };
  }
  for (const calculation of CALCULATIONS) {
    paths[`/calc/${calculation.name}`] = { post: calculationOperation(calculation) };
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Lotwright',
      version: 'v1',
      description: `The services of the pages and the command line, by ${PROGRAM}. It proposes; people decide.`,
    },
    servers: [{ url: '/api/v1' }],
    paths,
    security: [SIGNED_IN],
    components: {
      schemas: { Problem: schemaOf(ProblemAnswer) },
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
      },
    },
  };
}

const SIGNED_IN = { session: [], token: [] };

const PROBLEM = {
  description: 'What went wrong (RFC 9457)',
  content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } },
};

function operation({ method, path, summary, status, answer, query, body, open }: Endpoint) {
  const named = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => ({
    name,
    in: 'path',
    required: true,
    schema: { type: 'string' },
  }));
  return {
    operationId: `${method}${path.replaceAll(/[^a-z0-9]+/gi, '-').replace(/-$/, '')}`,
    summary,
    parameters: [...named, ...(query ? queryParameters(query) : [])],
    ...(body
      ? { requestBody: { required: true, content: { 'application/json': { schema: schemaOf(body, 'input') } } } }
      : {}),
    ...(open ? { security: [] } : {}),
    responses: { [status]: responseOf(summary, status, answer), default: PROBLEM },
  };
}

function responseOf(summary: string, status: number, answer: z.ZodType | undefined) {
  if (status === 204) return { description: 'Done' };
  return answer ? json(summary, schemaOf(answer)) : FILE;
}

function calculationOperation(calculation: AnyCalculation) {
  const { name, purpose, output, source, example } = calculation;
  const input = { schema: embedded(inputSchema(calculation)), example: example.input };
  return {
    operationId: `calc-${name}`,
    summary: purpose,
    description: `Source: ${source}`,
    requestBody: { required: true, content: { 'application/json': input } },
    responses: { 200: json('The answer', answerSchema(output)), default: PROBLEM },
  };
}

const FILE = { description: 'The bytes as received', content: { 'application/octet-stream': {} } };

function queryParameters(query: z.ZodObject) {
  const { properties = {}, required = [] } = z.toJSONSchema(query, { io: 'input' });
  return Object.entries(properties).map(([name, schema]) => ({
    name,
    in: 'query',
    required: required.includes(name),
    schema,
  }));
}

const json = (description: string, schema: unknown) => ({ description, content: { 'application/json': { schema } } });

const schemaOf = (schema: z.ZodType, io: 'input' | 'output' = 'output') =>
  embedded(z.toJSONSchema(schema, { unrepresentable: 'any', io }));

/** Inside the document every schema has the dialect that OpenAPI 3.1 sets. */
function embedded({ $schema: _dialect, ...schema }: Record<string, unknown>) {
  return schema;
}

/** Every answer of a calculation: its own fields, some absent under conditions that the notes state, and the common ones. */
function answerSchema(output: Readonly<Record<string, string>>) {
  const own = Object.entries(output).map(([name, description]) => [name, { description }]);
  return {
    type: 'object',
    properties: {
      ...Object.fromEntries(own),
      method: { type: 'string' },
      source: { type: 'string' },
      notes: { type: 'array', items: { type: 'string' } },
    },
    required: ['method', 'source', 'notes'],
  };
}
