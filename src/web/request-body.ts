import express, { type Request, type Response } from 'express';
import { hangUpOnEndlessBody } from './request-limits.js';

/** Bytes of a request body at most. */
const BODY_LIMIT = 1 << 20;

const parseJson = express.json({ limit: BODY_LIMIT });
const parseForm = express.urlencoded({ limit: BODY_LIMIT, extended: false });

/**
 * Reads the body of a request, JSON or a form; without one it is an empty object. The guard calls it once it has let
 * somebody in: as middleware it would read the bodies of strangers first.
 * @throws an error with the status 400, 413 or 415 for a body that is none.
 */
export async function readBody(request: Request, response: Response): Promise<void> {
  const parse = request.is('application/json') ? parseJson : parseForm;
  await new Promise<void>((resolve, reject) => {
    hangUpOnEndlessBody(request, 4 * BODY_LIMIT);
    parse(request, response, (error?: unknown) => (error === undefined ? resolve() : reject(error)));
  });
  request.body ??= {};
}
