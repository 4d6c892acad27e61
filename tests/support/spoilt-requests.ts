import http from 'node:http';
import type { AddressInfo } from 'node:net';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { z } from 'zod';
import type { JsonSchema } from '../../src/base/json-schema.js';
import { formNumber } from '../../src/web/form-once.js';
import { type Route, Routes } from '../../src/web/routes.js';
import { Mutations } from './mutations.js';
import { PASSWORD } from './people.js';
import type { SignedIn } from './service.js';

/** Values that lead somewhere in a folder with a test cell, by the name of the field or of the part of an address. */
const KNOWN: Readonly<Record<string, readonly string[]>> = {
  lot: ['L-1', 'L-00', 'L-05'],
  kind: ['machine', 'lot', 'method', 'supplier'],
  key: ['M1', 'L-1', 'TM-1'],
  family: ['PLATE'],
  characteristic: ['rm', 'thickness'],
  person: ['P-AN', 'P-AU'],
  second: ['P-RE'],
  password: [PASSWORD],
  secondPassword: [PASSWORD],
  act: ['hold', 'lift', 'revoke', 'role', 'close'],
  role: ['analyst', 'operator'],
  meaning: ['reviewed', 'released', 'approved'],
  step: ['sterilisation', 'distribution'],
  name: ['mass-loss-rate', 'fit'],
  units: ['L-1-I1'],
  reason: ['looked at under the microscope'],
  thing: ['lot file:L-1'],
  things: ['lot file:L-1'],
};

const WORDS = [
  ...['&', '=', '%', '%00', '%zz', '+', ';', '[', ']', '[]=', '{', '}', '"', '\\u0000', '\u0000', '\u202e', '\ud800'],
  ...['__proto__=1', '__proto__[x]=1', 'constructor[prototype][x]=1', '"__proto__":{"x":1},', 'form-number=', 'csrf='],
  ...['null', '1e999', '-0', '[[[[[[[[', '{"a":{"a":{"a":', '\r\n', '<script>', '../../', '\ufeff', "' OR 1=1 --"],
];

/** What no field is meant for. */
const HOSTILE: readonly unknown[] = [
  ...['', ' ', '\u0000', '\u202eabc', 'x'.repeat(5000), '../../etc/passwd', '%2e%2e%2f', "' OR 1=1 --", '2031-02-30'],
  ...[0, -1, 1e308, 2 ** 53, true, null, [], {}, [[]], { length: 1e9 }, { toString: 'x' }, ['x', 'x']],
];

const TYPES = [
  ...['text/plain', 'multipart/form-data', 'multipart/form-data; boundary=', 'application/json; charset=utf-7'],
  ...['application/x-www-form-urlencoded; charset=x', 'application/xml', 'x', ''],
];

export interface SpoiltRequest {
  readonly method: string;
  readonly path: string;
  readonly type: string;
  readonly body: Buffer;
}

/** Every route that takes a body, from the table of routes of the program itself. */
export const changingRoutes = (app: NestExpressApplication): Route[] =>
  app
    .get(Routes)
    .all()
    .filter(({ method }) => method !== 'GET' && method !== 'ALL');

/** Whether a route ends the session of whoever asks. */
export const endsSession = ({ path }: Route): boolean =>
  ['/sign-out', '/api/v1/session', '/account/password'].includes(path);

/** A request as its schema asks for it, with a few things changed: the same seed, the same request. */
export function spoiltRequest(route: Route, seed: number): SpoiltRequest {
  const mutations = new Mutations(seed, WORDS);
  const path = route.path.replaceAll(/:(\w+)/g, (_, name: string) => addressPart(name, mutations));
  const isJson = route.path.startsWith('/api/');
  const fields = fieldsOf(route, mutations);
  const names = Object.keys(fields);
  const how = mutations.below(6);
  if (how < 3 && names.length > 0) fields[mutations.one(names)] = mutations.one(HOSTILE);
  if (how === 1) fields[mutations.one(['unknown', 'constructor', 'form-number'])] = mutations.one(HOSTILE);
  const text = isJson ? JSON.stringify(fields) : formText({ 'form-number': formNumber(), ...fields });
  const whole = Buffer.from(text);
  const body = how >= 2 && how < 5 ? mutations.spoil(whole) : whole;
  const usual = isJson ? 'application/json' : 'application/x-www-form-urlencoded';
  return { method: route.method, path, type: how === 4 ? mutations.one(TYPES) : usual, body };
}

function addressPart(name: string, mutations: Mutations): string {
  const known = KNOWN[name] ?? ['x'];
  if (mutations.below(3) > 0) return encodeURIComponent(mutations.one(known));
  return mutations.one(['%00', '..%2f..%2fx', '%e2%80%ae', 'x'.repeat(401), '%ff', '%zz', '__proto__', "'", '0']);
}

function fieldsOf({ inputs }: Route, mutations: Mutations): Record<string, unknown> {
  const fields: Record<string, unknown> = {};
  for (const { from, name, schema } of inputs) {
    if (from !== 'body' || schema === undefined) continue;
    const form = z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }) as JsonSchema;
    if (name !== undefined) fields[name] = fitting(name, form, mutations);
    for (const [field, own] of Object.entries(form.properties ?? {})) {
      const isNeeded = form.required?.includes(field) ?? false;
      if (isNeeded || mutations.below(2) === 0) fields[field] = fitting(field, own, mutations);
    }
  }
  return fields;
}

function fitting(name: string, schema: JsonSchema, mutations: Mutations): unknown {
  if (schema.const !== undefined) return schema.const;
  if (schema.enum) return mutations.one(schema.enum);
  const among = schema.anyOf ?? schema.oneOf;
  if (among) return fitting(name, mutations.one(among), mutations);
  if (schema.type === 'array') return [fitting(name, schema.items ?? {}, mutations)];
  if (schema.type === 'number' || schema.type === 'integer') return 1 + mutations.below(9);
  if (schema.type === 'boolean') return mutations.below(2) === 0;
  if (schema.type === 'object') {
    const own = Object.entries(schema.properties ?? {});
    return Object.fromEntries(own.map(([field, inner]) => [field, fitting(field, inner, mutations)]));
  }
  return mutations.one(KNOWN[name] ?? ['x', '2031-03-06', '1', 'yes']);
}

/** As a browser writes a form; what is no text is written as such programs do that mean harm. */
function formText(fields: Readonly<Record<string, unknown>>): string {
  const pairs = Object.entries(fields).flatMap(([name, value]): [string, string][] =>
    [value].flat().map((one) => [name, typeof one === 'object' ? JSON.stringify(one) : String(one)]),
  );
  return pairs.map(([name, value]) => `${encodeURIComponent(name)}=${encodeURIComponent(value)}`).join('&');
}

export interface Answer {
  readonly status: number;
  readonly text: string;
}

/** @param app listens. */
export function send(app: NestExpressApplication, { method, path, type, body }: SpoiltRequest, own: SignedIn) {
  const { port } = app.getHttpServer().address() as AddressInfo;
  const headers = { Cookie: own.cookie, 'X-CSRF-Token': own.csrf, 'Content-Type': type, 'Content-Length': body.length };
  return new Promise<Answer>((resolve, reject) => {
    const asked = http.request({ port, host: '127.0.0.1', method, path, headers, agent: false }, (answer) => {
      const blocks: Buffer[] = [];
      answer.on('data', (block: Buffer) => blocks.push(block));
      answer.on('end', () => resolve({ status: answer.statusCode!, text: Buffer.concat(blocks).toString() }));
      answer.on('error', reject);
    });
    asked.on('error', reject);
    asked.end(body);
  });
}

/** Undefined for an answer as people and programs may get one: no fault of the program, and nothing of how it is made. */
export function wrongWith({ status, text }: Answer): string | undefined {
  if (status >= 500) return `answers ${status}: ${text.slice(0, 300)}`;
  if (/\bat .*\.[jt]s:\d+/.test(text) || /prisma|sqlite_|SQLITE_/i.test(text))
    return `tells of the program: ${text.slice(0, 300)}`;
  return status >= 400 && text.trim() === '' ? `answers ${status} without a word` : undefined;
}
