import postgres from 'postgres';
import { AppError } from '../../base/errors.js';

export type Connections = postgres.Sql;

const WHOLE_NUMBER = 20;

/** How long a statement waits for a row that others hold: the write door tries again. */
const LOCK_TIMEOUT_MS = 1000;

interface Wanted {
  readonly most: number;
  readonly readsOnly: boolean;
}

/** Who is told when a connection is lost. */
const watching = new WeakMap<Connections, Set<() => void>>();

/** How long questions may be under way on connections of which one was lost. Nobody tells on which each was asked. */
const GRACE_MS = 10_000;

/**
 * Connections to a database, opened when they are needed. Whole numbers come as numbers while these hold them. Once one is
 * lost, others take the place of all of them: the library may keep what was to be written on the lost one, and then
 * never gets through with it again.
 */
export function connectTo(url: string, wanted: Wanted): Connections {
  const told = new Set<() => void>();
  const former = new Map<postgres.Sql, NodeJS.Timeout>();
  const open = (): postgres.Sql => {
    const made = pool(url, wanted, () => {
      if (made !== current || isEnding) return;
      current = open();
      former.set(made, setTimeout(() => leave(made), GRACE_MS).unref());
      for (const tell of told) tell();
    });
    return made;
  };
  const leave = (one: postgres.Sql) => {
    clearTimeout(former.get(one));
    former.delete(one);
    return one.end({ timeout: 0 });
  };
  let isEnding = false;
  let current = open();
  const end = async () => {
    isEnding = true;
    await Promise.all([...former.keys()].map(leave));
    await current.end();
  };
  const connections = new Proxy(current, {
    get: (_, name) => (name === 'end' ? end : Reflect.get(current, name)),
    apply: (_, self, given) => Reflect.apply(current, self, given),
  });
  watching.set(connections, told);
  return connections;
}

function pool(url: string, { most, readsOnly }: Wanted, onclose: () => void): postgres.Sql {
  return postgres(url, {
    max: most,
    // None is taken away while it is used.
    max_lifetime: null,
    onclose,
    // Without it the library never hands out a connection that is opened for one transaction alone.
    fetch_types: true,
    onnotice: () => {},
    connection: {
      application_name: 'lotwright',
      lock_timeout: LOCK_TIMEOUT_MS,
      // Both cost more than the short questions of the program: machine code for one of them, and a plan for each time. As a
      // text: the library leaves out what is false.
      jit: 'off',
      plan_cache_mode: 'force_generic_plan',
      // What is asked often is in memory: a row by an index costs little more than the next one of a table.
      random_page_cost: 1.1,
      default_transaction_read_only: readsOnly,
    },
    types: {
      whole: { to: WHOLE_NUMBER, from: [WHOLE_NUMBER], parse: wholeNumber, serialize: String },
    },
  });
}

/**
 * The library lets a question on a lost connection wait for ever, where that connection was taken for a transaction.
 * @param tell called when one of these connections is lost.
 * @returns what ends that.
 */
export function watchLoss(connections: Connections, tell: () => void): () => void {
  const told = watching.get(connections)!;
  told.add(tell);
  return () => told.delete(tell);
}

/**
 * Waits for an answer, but not for one that cannot come. The library forgets a question that is asked between the error of a
 * connection and its end: neither answer nor error follows.
 * @throws Error with the code CONNECTION_LOST then.
 */
export async function unlessForgotten<T>(connections: Connections, question: PromiseLike<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined;
  let stop = () => {};
  const forgotten = new Promise<never>((_resolve, reject) => {
    stop = watchLoss(connections, () => {
      // Of a single connection everybody knows on which it was asked.
      timer ??= setTimeout(() => reject(lost()), connections.options.max === 1 ? 0 : GRACE_MS);
    });
  });
  try {
    return await Promise.race([question, forgotten]);
  } finally {
    clearTimeout(timer);
    stop();
  }
}

const lost = () => Object.assign(new Error('the connection was lost'), { code: 'CONNECTION_LOST' });

function wholeNumber(text: string): number | string {
  const value = Number(text);
  return Number.isSafeInteger(value) ? value : text;
}

/**
 * The address of a database as it may be written down: without the password.
 * @throws AppError CONFLICT for what is no such address.
 */
export function withoutPassword(url: string): string {
  const address = addressOf(url);
  address.password = '';
  return address.href;
}

/** @throws AppError CONFLICT for what is no address of a database. */
export function checkAddress(url: string): void {
  addressOf(url);
}

/** Whether two addresses lead to one database, whoever asks. */
export function isSameDatabase(one: string, other: string): boolean {
  const [a, b] = [one, other].map((url) => {
    const { hostname, port, pathname } = addressOf(url);
    return `${hostname}:${port || '5432'}${pathname}`;
  });
  return a === b;
}

function addressOf(url: string): URL {
  const address = URL.canParse(url) ? new URL(url) : undefined;
  if (address && /^postgres(?:ql)?:$/.test(address.protocol) && address.pathname.length > 1) return address;
  throw new AppError(
    'CONFLICT',
    'LOTWRIGHT_STORE is no address of a database: write postgresql://role@host:5432/database',
  );
}
