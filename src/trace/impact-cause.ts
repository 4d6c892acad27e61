import { AppError, BadInputError, NotFoundError } from '../base/errors.js';
import { programNameOf } from '../base/settings.js';
import { programKey } from '../kinds/program-version.js';
import type { Store } from '../store/store.js';
import { type Identified, identify } from './identifiers.js';
import { EARLIEST, type ImpactInterval, intervalOf } from './impact-interval.js';

/** What was off, and from when to when. */
export interface Cause {
  /** Of the entry; undefined of a program that no document tells of. */
  readonly id: number | undefined;
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  /** The latest on record. */
  readonly revision: number;
  /** The one that was asked for. */
  readonly only: number | undefined;
  /** Of a program version: what it calls itself. */
  readonly program?: string;
}

export const PROGRAM = 'program-version';

/**
 * What an identifier names, as `kind:key` where several are called so. A program is named as it calls itself, or by its document.
 * @throws NotFoundError when nothing is called so; BadInputError for an identifier of several things.
 */
export async function causeOf(store: Store, text: string): Promise<Cause> {
  const { read, clock } = store;
  const found = await identify({ read, text, asOf: undefined, now: clock.now(), checkFindings: async () => [] });
  const programs = programsAmong(found);
  if (programs.length > 0 && programs.length < found.length) throw several(text, found.map(nameOf));
  if (programs.length > 1) throw several(text, programs);
  if (programs.length === 1) return programCause(store, programs[0]!);
  if (found.length === 0) throw new NotFoundError('thing', text);
  if (found.length > 1) throw several(text, found.map(nameOf));
  const [first] = found;
  const entries = await read.trace.named(first!.key);
  const id = entries.find((one) => one.kind === first!.kind && one.key === first!.key)?.id;
  if (id === undefined) throw new NotFoundError('thing', text);
  const own = await read.trace.reach([id], 'forward');
  const { name = '', revision = 0 } = own.entries.find((entry) => entry.id === id) ?? {};
  const cause = { id, kind: first!.kind, key: first!.key, name, revision, only: first!.revision };
  if (cause.kind !== PROGRAM) return cause;
  const { body } = await read.entries.currentOrThrow(PROGRAM, cause.key);
  return { ...cause, program: programNameOf(body.version, body.build) };
}

/** What programs call themselves that assessed lots, where a text is their name or begins the digest of their rules. */
const programsAmong = (found: readonly Identified[]): string[] => [
  ...new Set(found.flatMap(({ as }) => (as?.use === 'program that assessed' ? [as.detail] : []))),
];

/** A cell that accepted the version has a document of it. */
async function programCause({ read }: Store, program: string): Promise<Cause> {
  const [, version, build] = /^\S+ (\d+\.\d+\.\d+) \(build ([0-9a-f]{12})\)$/.exec(program) ?? [];
  const key = version === undefined || build === undefined ? program : programKey(version, build);
  const { revision = 0 } = (await read.entries.current(PROGRAM, key)) ?? {};
  return { id: undefined, kind: PROGRAM, key, name: program, revision, only: undefined, program };
}

const nameOf = ({ kind, key }: Identified): string => `${kind}:${key}`;

const several = (text: string, names: readonly string[]) =>
  new BadInputError([
    {
      code: 'several',
      field: 'id',
      found: `"${text}", which names ${names.length} things`,
      expected: names.join(' or '),
      remedy: 'name the kind with it',
    },
  ]);

/** @throws AppError BAD_INPUT for an interval the wrong way round. */
export async function intervalAsked(
  { read, clock }: Store,
  cause: Cause,
  { from, to }: { readonly from: string | undefined; readonly to: string | undefined },
): Promise<ImpactInterval> {
  const now = clock.now().toISOString();
  const instrument = cause.kind === 'instrument' ? await read.entries.current('instrument', cause.key) : undefined;
  const proposed: ImpactInterval = instrument
    ? intervalOf(instrument.body.calibrations, now)
    : { from: EARLIEST, to: now, because: { code: 'all' } };
  const asked = { from: from ?? proposed.from, to: to ?? proposed.to };
  if (Date.parse(asked.from) > Date.parse(asked.to)) {
    throw new AppError(
      'BAD_INPUT',
      `from ${asked.from} to ${asked.to}: expected a beginning that is not after the end; swap them`,
    );
  }
  return { ...asked, because: from === undefined && to === undefined ? proposed.because : null };
}
