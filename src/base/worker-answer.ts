import { AppError, BadInputError, type ErrorCode, type Problem } from './errors.js';

/** An error loses its class and facts on the way between threads, so what is wrong is sent as data. */
export type Answer<Value> =
  | { readonly value: Value }
  | { readonly code: ErrorCode; readonly message: string; readonly facts: Readonly<Record<string, unknown>> };

/** What a worker exports: the task, with its errors made fit to be sent. */
export function answering<Task, Value>(work: (task: Task) => Promise<Value>): (task: Task) => Promise<Answer<Value>> {
  return async (task) => {
    try {
      return { value: await work(task) };
    } catch (error) {
      if (!(error instanceof AppError)) throw error;
      return { code: error.code, message: error.message, facts: error.facts };
    }
  };
}

/**
 * What was answered.
 * @throws AppError, or BadInputError with its problems, as the task did.
 */
export function taken<Value>(answer: Answer<Value>): Value {
  if ('value' in answer) return answer.value;
  const { code, message, facts } = answer;
  throw Array.isArray(facts.problems)
    ? new BadInputError(facts.problems as Problem[])
    : new AppError(code, message, facts);
}
