import os from 'node:os';
import type { INestApplicationContext, Type } from '@nestjs/common';
import type { Command } from 'commander';
import { defaultDataFolder } from '../base/settings.js';
import { type Output, outputFor, report } from './output.js';

/** A file with what a command does. It is loaded when the command runs, so that no other command waits for it. */
export interface BareBody {
  /** @param words arguments of the command, then its options. @returns the exit code. */
  run(out: Output, common: CommonOptions, ...words: never[]): Promise<number>;
}

/** The same over a data folder: `context` has the store, and the feature whose module the file names, if any. */
export interface FolderBody {
  readonly module?: Type;
  run(context: INestApplicationContext, out: Output, ...words: never[]): Promise<number>;
}

export interface CommonOptions {
  readonly data?: string;
  readonly json?: boolean;
}

/** Commands that nobody signs act as the user of this machine: they may take in, assess and draft. */
export const systemActor = (): string => `local:${os.userInfo().username}`;

export const dataFolderOf = ({ data }: CommonOptions): string => data ?? defaultDataFolder();

/**
 * Action of a command over the data folder, which is made when there is none. What it reads is noted in the audit trail.
 * @param readsMuch whether it reads thousands of documents.
 * @param isNoted false for one that shows no case, or that makes entries of its own for all that it does.
 */
export const onFolder = (load: () => Promise<FolderBody>, { readsMuch = false, isNoted = true } = {}) =>
  action(async (out, common, words) => {
    // The store brings most schemas with it.
    const all = () => Promise.all([import('./features.js'), import('./noted-command.js'), load()]);
    const [{ withFeatures }, { noteCommand }, { module, run }] = await (readsMuch ? all() : loadReadingLittle(all));
    return withFeatures(dataFolderOf(common), module ? [module] : [], async (context, store) => {
      if (isNoted) await noteCommand(store, systemActor(), words.at(-1) as unknown as Command);
      try {
        return await run(context, out, ...words);
      } catch (error) {
        throw await (await import('./near-spellings.js')).withNearSpellings(error, store);
      }
    });
  });

/** A schema is made into code when it first reads something, which pays for thousands of readings. It is decided as it loads. */
async function loadReadingLittle<T>(load: () => Promise<T>): Promise<T> {
  const { z } = await import('zod');
  z.config({ jitless: true });
  try {
    return await load();
  } finally {
    z.config({ jitless: false });
  }
}

/** Action of a command that needs no data folder, or opens it by itself. */
export const bare = (load: () => Promise<BareBody>) =>
  action(async (out, common, words) => (await load()).run(out, common, ...words));

/** Ends the process with the exit code of the work, or of the error that ended it. */
function action(work: (out: Output, common: CommonOptions, words: never[]) => Promise<number>) {
  return async (...words: unknown[]): Promise<void> => {
    const common = (words.at(-1) as Command).optsWithGlobals<CommonOptions>();
    const json = common.json === true;
    try {
      process.exitCode = await work(outputFor(json), common, words as never[]);
    } catch (error) {
      const { explained } = await import('../base/disk-trouble.js');
      process.exitCode = report(explained(error), json);
    }
  };
}
