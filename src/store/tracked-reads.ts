import { AppError } from '../base/errors.js';
import { ALL_KINDS } from '../kinds/catalogue.js';
import { TOPICS, type Topic } from './kept-topics.js';
import type { Reads } from './repositories.js';

type Name = readonly [kind: string, key: string];

/** Reads that remember what they were asked. */
export interface TrackedReads {
  readonly reads: Reads;
  /** Topics of all that was asked: no answer changes unless one of them is touched. Of entries both sorts are in it. */
  topics(): Promise<Topic[]>;
}

class Names {
  private readonly names = new Map<string, Name>();

  add(kind: string, key: string): void {
    this.names.set(`${kind}\n${key}`, [kind, key]);
  }

  get list(): readonly Name[] {
    return [...this.names.values()];
  }
}

/** What was asked, before entries are called by their numbers. */
class Asked {
  readonly topics = new Set<Topic>();
  readonly entries = new Names();
  /** Those of which was asked what is tied to them. */
  readonly tiedTo = new Names();

  add(...topics: readonly Topic[]): void {
    for (const topic of topics) this.topics.add(topic);
  }

  entry(kind: string, key: string): void {
    this.entries.add(kind, key);
    this.topics.add(TOPICS.entry(kind, key));
  }

  /** What is tied to an entry, which need not be there. */
  tied(kind: string, key: string): void {
    this.tiedTo.add(kind, key);
    this.topics.add(TOPICS.entry(kind, key));
  }

  revisions(found: readonly { readonly kind: string; readonly key: string }[]): void {
    for (const { kind, key } of found) this.entry(kind, key);
  }

  /** All keys from a start on: it is a whole beginning up to a colon, or the kind as a whole is asked. */
  keys(kind: string, start: string): void {
    this.add(start.indexOf(':') === start.length - 1 ? TOPICS.keysBeginning(kind, start) : TOPICS.kind(kind));
  }
}

const KINDS_OF_CASES = ALL_KINDS.filter(({ caseOf }) => caseOf !== undefined).map(({ kind }) => kind);

type Methods<Repository> = {
  readonly [M in keyof Repository as Repository[M] extends (...args: never[]) => unknown
    ? M
    : never]?: Repository[M] extends (...args: infer Args) => Promise<infer Answer>
    ? (asked: Asked, args: Args, answer: Answer) => void
    : never;
};

/** Never another answer to the same question: what is named by its digest, and what an entry of the ledger says. */
const FIXED = (): void => {};

const revisions = (asked: Asked, kind: string, key: string): void => asked.entry(kind, key);

/** How each question says what its answer rests on. One that is not here may not be asked for what is kept. */
const QUESTIONS: { readonly [A in keyof Reads]?: Methods<Reads[A]> } = {
  entries: {
    current: (asked, [kind, key]) => revisions(asked, kind, key),
    currentOrThrow: (asked, [kind, key]) => revisions(asked, kind, key),
    revision: (asked, [kind, key]) => revisions(asked, kind, key),
    revisions: (asked, [kind, key]) => revisions(asked, kind, key),
    list: (asked, [kind]) => asked.add(TOPICS.kind(kind)),
    allRevisions: (asked, [kind]) => asked.add(TOPICS.kind(kind)),
    revisionsStarting: (asked, [kind, start]) => asked.keys(kind, start),
    lists: (asked, [kinds]) => asked.add(...kinds.map(TOPICS.kind)),
    revisionsOf: (asked, [names]) => {
      for (const [kind, key] of names) asked.entry(kind, key);
    },
    containedIn: (asked, [kind, key], found) => {
      asked.entry(kind, key);
      asked.revisions(found);
    },
    tiedTo: (asked, [, kind, key], found) => {
      asked.tied(kind, key);
      asked.revisions(found);
    },
    ofCases: (asked, [codes], found) => {
      for (const code of codes) for (const kind of KINDS_OF_CASES) asked.tied(kind, code);
      for (const documents of found.values()) asked.revisions(documents);
    },
    namingParts: (asked, [kind, parts], found) => {
      for (const part of parts) for (const named of ['implant', 'coupon', kind]) asked.tied(named, part);
      asked.revisions(found);
    },
    evidenceNamedBy: FIXED,
  },
  evidence: { info: FIXED },
  results: { ofLot: (asked, [lot]) => asked.add(TOPICS.results(lot)) },
  logs: { ofLot: (asked, [lot]) => asked.add(TOPICS.logs(lot)), summaries: FIXED },
  lotFiles: { latest: (asked, [lot]) => asked.add(TOPICS.lotFiles(lot)), byDigest: FIXED, parts: FIXED },
  assessments: {
    byDigest: FIXED,
    current: (asked, [, lot]) => asked.add(TOPICS.lotFiles(lot), TOPICS.assessments(lot)),
    units: (asked, [, lot]) => {
      if (lot === undefined) throw notTracked('assessments', 'units of all lots');
      asked.add(TOPICS.lotFiles(lot), TOPICS.assessments(lot));
    },
  },
  records: { ofLot: (asked, [lot]) => asked.add(TOPICS.records(lot)) },
  events: {
    of: (asked, [{ kind, key }]) => asked.add(TOPICS.eventsOf(kind, key)),
    ofTypes: (asked, [types]) => asked.add(...types.map(TOPICS.eventsOfType)),
  },
  signatures: {
    on: (asked, [digests]) => asked.add(...digests.map(TOPICS.signedDigest)),
    of: (asked, [{ kind, key }]) => asked.add(TOPICS.signed(kind, key)),
    starting: (asked, [kind, start]) => {
      if (start.indexOf(':') !== start.length - 1) throw notTracked('signatures', `starting with ${start}`);
      asked.add(TOPICS.signedBeginning(kind, start));
    },
  },
  ledger: { entry: FIXED },
};

const notTracked = (room: string, question: string): AppError =>
  new AppError('UNEXPECTED', `${room}: nothing says what the answer to ${question} rests on, so it cannot be kept`);

/**
 * The same reads, each of which says what its answer rests on (docs/decisions/kept-views.md).
 * @throws AppError UNEXPECTED at a question of which that is not known.
 */
export function tracked(read: Reads): TrackedReads {
  const asked = new Asked();
  const repositories = Object.fromEntries(
    Object.keys(QUESTIONS).map((name) => [name, trackedRepository(read, name as keyof typeof QUESTIONS, asked)]),
  );
  const reads = new Proxy(repositories, {
    get: (target, name: string) => {
      if (name in target) return target[name];
      throw notTracked(name, 'any question');
    },
  }) as unknown as Reads;
  return { reads, topics: () => topicsOf(read, asked) };
}

type Told = (asked: Asked, args: readonly unknown[], answer: unknown) => void;

function trackedRepository(read: Reads, name: keyof typeof QUESTIONS, asked: Asked): object {
  const tells = QUESTIONS[name] as Readonly<Record<string, Told>>;
  const repository = read[name] as unknown as Readonly<Record<string, (...args: unknown[]) => Promise<unknown>>>;
  const methods = Object.entries(tells).map(([method, tell]) => [
    method,
    async (...args: unknown[]) => {
      const answer = await repository[method]!(...args);
      tell(asked, args, answer);
      return answer;
    },
  ]);
  const known = Object.fromEntries(methods) as Record<string, unknown>;
  return new Proxy(known, {
    get: (target, method: string) => {
      if (method in target) return target[method];
      throw notTracked(name, method);
    },
  });
}

async function topicsOf({ keptViews }: Reads, asked: Asked): Promise<Topic[]> {
  const ids = await keptViews.entryIds(asked.entries.list);
  const tied = await keptViews.entryIds(asked.tiedTo.list);
  return [...asked.topics, ...ids.map(TOPICS.revisionsOf), ...tied.map(TOPICS.tiedTo)];
}
