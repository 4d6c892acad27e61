import { setFlagsFromString } from 'node:v8';
import { Turns } from '../../base/turns.js';
import { PrismaClient } from '../generated/client.js';
import { KeepingDriver } from './kept-statements.js';

/**
 * The client brings its query planner as WebAssembly. V8 compiles its busier functions a second time to make them faster.
 * That takes half a second of a command, 50 MB of a service at rest, and nothing measurable off a page, so it waits much
 * longer here.
 */
const WITHOUT_SECOND_COMPILATION = '--wasm-tiering-budget=180000000';

/** A long answer does not hold up a short one: the driver answers at once, and so a page would never be put aside. */
const STRETCH_MS = 10;

export function openReadingClient(file: string): PrismaClient {
  return openClient({ url: `file:${file}`, readonly: true, timeout: 1000 }, new Turns(STRETCH_MS));
}

/** The driver waits by blocking the event loop, so this one does not wait in it: the write door does. */
export async function openWritingClient(file: string): Promise<PrismaClient> {
  const client = openClient({ url: `file:${file}`, timeout: 0 });
  try {
    // WAL reopens with synchronous = NORMAL, which may lose the last commits at a power cut.
    await client.$queryRawUnsafe('PRAGMA synchronous = FULL');
    await client.$queryRawUnsafe('PRAGMA foreign_keys = ON');
    return client;
  } catch (error) {
    await client.$disconnect();
    throw error;
  }
}

function openClient(...options: ConstructorParameters<typeof KeepingDriver>): PrismaClient {
  setFlagsFromString(WITHOUT_SECOND_COMPILATION);
  return new PrismaClient({ adapter: new KeepingDriver(...options) });
}
