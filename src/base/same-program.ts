import { AppError } from './errors.js';
import { programBuild } from './settings.js';

/** A task for another thread, with the build of the program that sends it. */
export interface Sent<Task> {
  readonly build: string;
  readonly task: Task;
}

export const sent = <Task>(task: Task): Sent<Task> => ({ build: programBuild(), task });

/**
 * A thread that was idle ends, and the next one reads the code of the program anew. After an update in place it would be
 * other code than that of the service that runs: it would store by other rules, and draw under the name of the old build.
 * The build covers the rules, since it is a digest of all code.
 * @returns the same work, which throws AppError BUSY for a task of another build.
 */
export function ofThisProgram<Task, More extends readonly unknown[], Value>(
  work: (task: Task, ...more: More) => Promise<Value>,
): (sent: Sent<Task>, ...more: More) => Promise<Value> {
  return async ({ build, task }, ...more) => {
    const here = programBuild();
    if (build === here) return work(task, ...more);
    throw new AppError(
      'BUSY',
      `the program was replaced while it runs: build ${build} runs, and build ${here} lies in its folder. Nothing was done; start the service again`,
      { build, here },
    );
  };
}
