import express, { type Request, type Response } from 'express';
import { MOST } from '../base/limits.js';
import { hangUpOnEndlessBody } from './request-limits.js';

const parseJson = express.json({ limit: MOST.bodyBytes });
const parseForm = express.urlencoded({ limit: MOST.bodyBytes, extended: false });

/**
 * Reads the body of a request, JSON or a form; without one it is an empty object. The guard calls it once it has let
 * somebody in: as middleware it would read the bodies of strangers first.
 * @throws an error with the status 400, 413 or 415 for a body that is none.
 */
export async function readBody(request: Request, response: Response): Promise<void> {
  const parse = request.is('application/json') ? parseJson : parseForm;
  await new Promise<void>((resolve, reject) => {
    hangUpOnEndlessBody(request, 4 * MOST.bodyBytes);
    parse(request, response, (error?: unknown) => (error === undefined ? resolve() : reject(error)));
  });
  request.body ??= {};
}
