import os from 'node:os';
import type { Command } from 'commander';
import { explained } from '../base/disk-trouble.js';
import { defaultDataFolder } from '../base/settings.js';
import { openServices, type Services } from '../services.js';
import { type Output, outputFor, report } from './output.js';

/** Runs the body of a command and ends the process with its exit code. */
export type Run = (body: (services: Services, out: Output) => Promise<number>) => Promise<void>;

export interface CommonOptions {
  readonly data?: string;
  readonly json?: boolean;
}

/** Commands that nobody signs act as the user of this machine: they may take in, assess and draft. */
export const systemActor = (): string => `local:${os.userInfo().username}`;

export const dataFolderOf = ({ data }: CommonOptions): string => data ?? defaultDataFolder();

export function runWith(program: Command): Run {
  return (body) =>
    runBare(program, async (out, options) => {
      const services = await openServices(dataFolderOf(options));
      try {
        return await body(services, out);
      } finally {
        await services.store.close();
      }
    });
}

/** For commands that need no data folder. */
export async function runBare(
  program: Command,
  body: (out: Output, options: CommonOptions) => Promise<number>,
): Promise<void> {
  const options = program.opts<CommonOptions>();
  const json = options.json === true;
  try {
    process.exitCode = await body(outputFor(json), options);
  } catch (error) {
    process.exitCode = report(explained(error), json);
  }
}
