import type { SignedAct, TraceMatch, TraceNode, TraceReport } from './traced.js';

type Answer = Pick<TraceReport, 'matches'>;

/** One difference between two answers to the same question. */
export interface AnswerChange {
  /** The thing that was asked for, as `kind key`. */
  readonly of: string;
  readonly what: 'match' | 'itself' | 'balance' | 'implant' | 'back' | 'forward' | 'signed' | 'entered';
  /** What differs, as `kind key`; the digest of an act, and empty for a balance. */
  readonly name: string;
  /** In the earlier answer, and in the later one; null where it is not in it. */
  readonly before: string | null;
  readonly now: string | null;
}

/**
 * What a later answer says otherwise than an earlier one, whatever order their rows have. Verdicts count where both tell
 * them: an answer as of a moment tells none.
 */
export function compareAnswers(before: Answer, now: Answer): AnswerChange[] {
  const earlier = new Map(before.matches.map((match) => [nameOf(match.entry), match]));
  const later = new Map(now.matches.map((match) => [nameOf(match.entry), match]));
  return differences(earlier, later, (match) => JSON.stringify(match)).flatMap(([name, was, is]): AnswerChange[] => {
    if (was === undefined || is === undefined) {
      return [orNull({ of: name, what: 'match', name, before: was && said(was.entry), now: is && said(is.entry) })];
    }
    return changesOf(name, was, is);
  });
}

function changesOf(of: string, was: TraceMatch, is: TraceMatch): AnswerChange[] {
  const changed = (what: AnswerChange['what'], name: string, before?: string | null, now?: string | null) =>
    orNull({ of, what, name, before, now });
  const tellsVerdicts = [was, is].every(({ units }) => units.some(({ verdict }) => verdict !== null));
  const unitText = ({ place, holder, verdict }: TraceMatch['units'][number]) =>
    [place, holder, ...(tellsVerdicts && verdict !== null ? [verdict] : [])].join(', ');
  const units = differences(bySerial(was), bySerial(is), unitText);
  return [
    ...(said(was.entry) === said(is.entry) ? [] : [changed('itself', '', said(was.entry), said(is.entry))]),
    ...(was.balance === is.balance ? [] : [changed('balance', '', was.balance, is.balance)]),
    ...units.map(([serial, a, b]) => changed('implant', `implant ${serial}`, a && unitText(a), b && unitText(b))),
    ...(['back', 'forward'] as const).flatMap((way) =>
      differences(byName(was[way]), byName(is[way]), said).map(([name, a, b]) =>
        changed(way, name, a && said(a), b && said(b)),
      ),
    ),
    ...differences(byDigest(was), byDigest(is), signedText).map(([name, a, b]) =>
      changed('signed', name, a && signedText(a), b && signedText(b)),
    ),
    ...differences(byWhat(was), byWhat(is), ({ at }) => at).map(([name, a, b]) =>
      changed('entered', name, a?.at, b?.at),
    ),
  ];
}

const orNull = ({
  before,
  now,
  ...change
}: Omit<AnswerChange, 'before' | 'now'> & {
  readonly before?: string | null | undefined;
  readonly now?: string | null | undefined;
}): AnswerChange => ({ ...change, before: before ?? null, now: now ?? null });

const nameOf = ({ kind, key }: { readonly kind: string; readonly key: string }): string => `${kind} ${key}`;
/** How a thing is tied follows from documents: a tie that changed is a new revision of one of them. */
const said = ({ revision, via }: TraceNode): string => [`${revision}`, via].filter(Boolean).join(': ');

const signedText = ({ at, meaning, what }: SignedAct): string => [at, meaning, what].join(' ');

const byDigest = ({ signed }: TraceMatch) => new Map((signed ?? []).map((act) => [act.digest, act]));
const byWhat = ({ entered }: TraceMatch) => new Map((entered ?? []).map((act) => [act.what, act]));
const bySerial = ({ units }: TraceMatch) => new Map(units.map((unit) => [unit.serial, unit]));
const byName = (nodes: readonly TraceNode[] | null) => new Map((nodes ?? []).map((node) => [nameOf(node), node]));

/** What is in one of two alone, and what is told otherwise in the other; in the order of the names. */
function differences<T>(
  before: ReadonlyMap<string, T>,
  now: ReadonlyMap<string, T>,
  told: (one: T) => string,
): [name: string, before: T | undefined, now: T | undefined][] {
  const names = [...new Set([...before.keys(), ...now.keys()])].sort();
  return names.flatMap((name) => {
    const [was, is] = [before.get(name), now.get(name)];
    const isSame = was !== undefined && is !== undefined && told(was) === told(is);
    return isSame ? [] : [[name, was, is] as [string, T | undefined, T | undefined]];
  });
}
