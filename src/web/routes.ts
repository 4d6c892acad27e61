import { Injectable, RequestMethod } from '@nestjs/common';
import { HTTP_CODE_METADATA, METHOD_METADATA, PATH_METADATA, ROUTE_ARGS_METADATA } from '@nestjs/common/constants.js';
import { RouteParamtypes } from '@nestjs/common/enums/route-paramtypes.enum.js';
import { DiscoveryService, MetadataScanner } from '@nestjs/core';
import type { z } from 'zod';

/** What a handler takes from a request. */
export interface RouteInput {
  readonly from: 'params' | 'query' | 'body';
  /** Of the one field that it takes; absent where it takes all of them. */
  readonly name?: string;
  /** What it is checked with. */
  readonly schema?: z.ZodType;
}

/** A route as the decorators of its handler say it. */
export interface Route {
  readonly method: string;
  /** As Express writes it: `/lots/:lot`. */
  readonly path: string;
  /** Of the answer when all is well. */
  readonly status: number;
  readonly inputs: readonly RouteInput[];
  /** Where it stands: `LotsController.show`. */
  readonly name: string;
  /** Bears what else is said of it. */
  readonly handler: (...given: never[]) => unknown;
}

const INPUTS: Readonly<Record<number, RouteInput['from']>> = {
  [RouteParamtypes.PARAM]: 'params',
  [RouteParamtypes.QUERY]: 'query',
  [RouteParamtypes.BODY]: 'body',
};

/** Every route of the program, read from the decorators that also make it. */
@Injectable()
export class Routes {
  constructor(
    private readonly discovery: DiscoveryService,
    private readonly scanner: MetadataScanner,
  ) {}

  all(): Route[] {
    return this.discovery.getControllers().flatMap(({ metatype }) => routesOf(metatype as Controller, this.scanner));
  }
}

type Controller = { new (...given: never[]): object; readonly name: string; readonly prototype: object };

function routesOf(controller: Controller, scanner: MetadataScanner): Route[] {
  return scanner.getAllMethodNames(controller.prototype).flatMap((name) => {
    const handler = (controller.prototype as Record<string, Route['handler']>)[name]!;
    const below = textsAt(handler);
    if (below.length === 0) return [];
    const method = RequestMethod[Reflect.getMetadata(METHOD_METADATA, handler) as RequestMethod]!;
    const status = (Reflect.getMetadata(HTTP_CODE_METADATA, handler) as number | undefined) ?? defaultStatus(method);
    const inputs = inputsOf(controller, name);
    return textsAt(controller).flatMap((base) =>
      below.map((path) => ({
        method,
        path: `/${[base, path]
          .map((part) => part.replaceAll(/^\/|\/$/g, ''))
          .filter(Boolean)
          .join('/')}`,
        status,
        inputs,
        name: `${controller.name}.${name}`,
        handler,
      })),
    );
  });
}

const textsAt = (target: object): string[] =>
  [(Reflect.getMetadata(PATH_METADATA, target) as string | string[] | undefined) ?? []].flat();

const defaultStatus = (method: string): number => (method === 'POST' ? 201 : 200);

function inputsOf(controller: Controller, name: string): RouteInput[] {
  const given = (Reflect.getMetadata(ROUTE_ARGS_METADATA, controller, name) ?? {}) as Record<
    string,
    { readonly index: number; readonly data?: string; readonly schema?: z.ZodType }
  >;
  const inOrder = Object.entries(given).sort(([, a], [, b]) => a.index - b.index);
  return inOrder.flatMap(([key, { data, schema }]) => {
    const from = INPUTS[Number(key.split(':')[0])];
    if (from === undefined) return [];
    return [{ from, ...(data === undefined ? {} : { name: data }), ...(schema === undefined ? {} : { schema }) }];
  });
}
