import { AppError, BadInputError, type ErrorCode, type Problem } from '../errors.js';
import { type RecordContent, type RenderedRecord, renderRecord } from './render-record.js';

/** An error loses its class and facts on the way between threads, so what is wrong is sent as data. */
export type RenderAnswer =
  | { readonly rendered: RenderedRecord }
  | { readonly problems: readonly Problem[] }
  | { readonly code: ErrorCode; readonly message: string; readonly facts: Readonly<Record<string, unknown>> };

/** Runs in a worker thread. */
export default async function renderInThisThread(content: RecordContent): Promise<RenderAnswer> {
  try {
    return { rendered: await renderRecord(content) };
  } catch (error) {
    if (error instanceof BadInputError) return { problems: error.problems };
    if (error instanceof AppError) return { code: error.code, message: error.message, facts: error.facts };
    throw error;
  }
}
