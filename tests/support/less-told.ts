import fc from 'fast-check';
import { assess } from '../../src/assessment/assess.js';
import type { Assessment } from '../../src/assessment/assessment.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { type Facts, PART_NAMES, readFacts } from '../../src/dossier/facts.js';
import { demandNamed } from '../../src/dossier/named-facts.js';
import { type Dossier, type PartRef, readLotFile } from '../../src/dossier/schema.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import { kindNamed } from '../../src/kinds/catalogue.js';

/** A lot file with its parts, taken apart so that any one thing of it can be taken away or changed. */
export interface WholeLot {
  // biome-ignore lint/suspicious/noExplicitAny: it is taken apart at any depth
  readonly dossier: any;
  /** By name: JSON, rows of a table, or text. */
  // biome-ignore lint/suspicious/noExplicitAny: it is taken apart at any depth
  readonly parts: Record<string, any>;
}

type Path = readonly (string | number)[];

/** @param textOf the text of each part. */
export function takenApart(dossier: Dossier, textOf: (part: PartRef) => string): WholeLot {
  const told = dossier.parts.map((part) => {
    const text = textOf(part);
    if (!part.name.endsWith('.csv')) return [part.name, JSON.parse(text)];
    const [head = '', ...rows] = text.split('\n').filter((line) => line !== '');
    return [part.name, part.name === PART_NAMES.results ? { head, rows } : { text }];
  });
  return { dossier: structuredClone(dossier), parts: Object.fromEntries(told) };
}

/**
 * For each step the implants that may be released for it by what the lot file says now; undefined for one that is refused
 * where it is read, since it lacks what it names or is none.
 */
export function freeIn(whole: WholeLot): { free: string[]; isOutOfOrder: boolean } | undefined {
  const assessed = assessedIn(whole, demandNamed);
  return (
    assessed && {
      free: assessed.units.flatMap(({ serial, releasableFor }) => releasableFor.map((step) => `${serial} for ${step}`)),
      isOutOfOrder: assessed.checks.some(({ code, findings }) => code === 'events-in-order' && findings.length > 0),
    }
  );
}

/** @param demand refuses a lot file that is read and lacks something. */
function assessedIn({ dossier, parts }: WholeLot, demand: (facts: Facts) => void = () => {}): Assessment | undefined {
  try {
    const texts = new Map<string, string>();
    const refs = (dossier.parts as { name: string }[]).flatMap((ref) => {
      const part = parts[ref.name];
      if (part === undefined) return [];
      const text: string = part.rows
        ? `${[part.head, ...part.rows].join('\n')}\n`
        : (part.text ?? JSON.stringify(part));
      texts.set(sha256Hex(text), text);
      return [{ ...ref, sha256: sha256Hex(text) }];
    });
    const facts = readFacts(readLotFile(JSON.stringify({ ...dossier, parts: refs })), texts);
    demand(facts);
    return assess(facts, 'test');
  } catch {
    return undefined;
  }
}

/** By check, what it comes to for lots as they are, and for each with one thing of every sort gone, or worse. */
export function outcomesOf(lots: Iterable<WholeLot>): ReadonlyMap<string, ReadonlySet<string>> {
  const seen = new Map<string, Set<string>>();
  const look = (whole: WholeLot) => {
    for (const { code, outcome } of assessedIn(whole)?.checks ?? [])
      seen.set(code, (seen.get(code) ?? new Set()).add(outcome));
  };
  for (const whole of lots) {
    look(whole);
    for (const [path] of speakingIn(whole).values()) {
      look(without(whole, path!));
      for (const isFar of [false, true]) look(changed(whole, path!, worsen(isFar)));
    }
  }
  return seen;
}

/** Kinds that ask for something, or tell of what went wrong: without one less is asked, or less is known against a unit. */
const ASK: ReadonlySet<string> = new Set([
  ...['specification', 'material-specification', 'design-envelope', 'method', 'recipe', 'family', 'capability-plan'],
  ...['nonconformity', 'storage-place', 'place-log', 'channel-map', 'impact'],
]);
/** Fields that ask, wherever they stand; `log` names sensors, which nobody has to name. */
const ASKING: ReadonlySet<string | number> = new Set([
  ...['min', 'max', 'lower', 'upper', 'limit', 'expiry', 'materialSpecification', 'clearance', 'usedUnder', 'log'],
  ...['retiredAt', 'status', 'fates', 'surgeryOn', 'neededBy', 'alloys', 'findings'],
]);

/** Everything of a lot file that speaks for it and can be taken away: documents, rows, files, statements, and what stands in each. */
function* whatSpeaks(whole: WholeLot): Generator<Path> {
  const carriers: readonly (readonly [at: Path, carried: WholeLot['dossier']])[] = [
    [['dossier'], whole.dossier],
    ...Object.entries(whole.parts)
      .filter(([name]) => name.startsWith('case-'))
      .map(([name, part]) => [['parts', name], part] as const),
  ];
  for (const [at, carried] of carriers) {
    for (const list of ['signatures', 'evidence', 'logs']) yield* elementsOf([...at, list], carried[list]);
    for (const [index, { kind, body }] of carried.pinned.entries()) {
      if (ASK.has(kind)) continue;
      yield [...at, 'pinned', index];
      yield* inside([...at, 'pinned', index, 'body'], body);
    }
  }
  for (const name of Object.keys(whole.parts)) yield ['parts', name];
  yield* elementsOf(['parts', PART_NAMES.results, 'rows'], whole.parts[PART_NAMES.results].rows);
}

function* elementsOf(at: Path, list: readonly unknown[] = []): Generator<Path> {
  for (const index of list.keys()) yield [...at, index];
}

function* inside(at: Path, value: unknown): Generator<Path> {
  if (typeof value !== 'object' || value === null) return;
  for (const [name, inner] of Object.entries(value)) {
    const key = Array.isArray(value) ? Number(name) : name;
    if (ASKING.has(key)) continue;
    yield [...at, key];
    yield* inside([...at, key], inner);
  }
}

/** By what it is, whatever its place in a list: `lot steps * load`. Of each sort as many are drawn, however long a list is. */
function sortOf({ dossier, parts }: WholeLot, path: Path): string {
  const [first, ...rest] = path;
  const place = rest.indexOf('pinned');
  const from: unknown = first === 'dossier' ? dossier : parts;
  const kind = place < 0 ? undefined : (at(from, rest.slice(0, place + 2)) as { kind: string }).kind;
  const names = kind === undefined ? path : [kind, ...rest.slice(place + 3)];
  return names.map((name) => (typeof name === 'number' ? '*' : name.replace(/-[A-Z].*\.json$/, ''))).join(' ');
}

const at = (from: unknown, path: Path): unknown =>
  path.reduce<unknown>((value, name) => (value as Record<string | number, unknown> | undefined)?.[name], from);

/** A copy without what stands at a path; the same where nothing stands there. */
function without(whole: WholeLot, path: Path): WholeLot {
  return changed(whole, path, (holder, name) => {
    if (Array.isArray(holder)) holder.splice(name as number, 1);
    else delete holder[name];
  });
}

// biome-ignore lint/suspicious/noExplicitAny: it is taken apart at any depth
function changed(whole: WholeLot, path: Path, change: (holder: any, name: string | number) => void): WholeLot {
  const copy = structuredClone(whole);
  const holder = at(copy, path.slice(0, -1));
  if (typeof holder === 'object' && holder !== null) change(holder, path.at(-1)!);
  return copy;
}

const DAY_MS = 86_400_000;
const OTHERWISE: Readonly<Record<string, string>> = {
  ...{ passed: 'failed', accepted: 'rejected', approved: 'checked', reviewed: 'performed', yes: 'no', no: 'yes' },
  ...{ left: 'right', right: 'left', open: 'cancelled', 'in tolerance': 'out of tolerance' },
};

/** Another value of the same form, which may be worse: a date far off, a number far off, the contrary of a word. */
function otherwise(value: unknown, far: boolean): unknown {
  if (typeof value === 'number') return far ? value * 10 : 0;
  if (typeof value !== 'string') return undefined;
  const days = far ? 700 : -700;
  if (/^\d{4}-\d\d-\d\dT/.test(value)) return new Date(Date.parse(value) + days * DAY_MS).toISOString();
  if (/^\d{4}-\d\d-\d\d$/.test(value)) return new Date(Date.parse(value) + days * DAY_MS).toISOString().slice(0, 10);
  if (/^-?\d+(\.\d+)?$/.test(value)) return String(Number(value) * (far ? 10 : 0.5));
  return OTHERWISE[value];
}

type BySort = ReadonlyMap<string, readonly Path[]>;

/** What speaks for a lot, by its sort. */
export function speakingIn(whole: WholeLot): BySort {
  const sorts = new Map<string, Path[]>();
  for (const path of whatSpeaks(whole)) {
    const sort = sortOf(whole, path);
    sorts.set(sort, [...(sorts.get(sort) ?? []), path]);
  }
  return sorts;
}

/** Sorts that can be left out: without anything else a document is none of its kind, and the lot file is refused. */
const leavable = (whole: WholeLot, sorts: BySort): BySort =>
  new Map([...sorts].filter(([, [first]]) => isReadWithout(whole, first!)));

function isReadWithout(whole: WholeLot, path: Path): boolean {
  const end = path.indexOf('body');
  if (end < 0) return true;
  const { kind, body } = at(whole, path.slice(0, end)) as { kind: string; body: unknown };
  const copy = { dossier: { body: structuredClone(body) }, parts: {} };
  const { dossier } = without(copy, ['dossier', ...path.slice(end)]);
  return kindNamed(kind)?.schema.safeParse(dossier.body).success === true;
}

interface Drawn {
  readonly sort: number;
  readonly place: number;
}

/**
 * Draws lots, spoils something of most of them, takes a few things away, and holds that nothing goes that did not go before.
 * @returns what was seen: whether anything could go before, and whether less could after, or the lot file was refused.
 */
export function tryLess(lots: ReadonlyMap<string, WholeLot>, runs: number, most: number): ReadonlySet<string> {
  const all = new Map(
    [...lots].map(([lot, whole]) => {
      const speaking = speakingIn(whole);
      return [lot, { whole, told: [...speaking.values()], left: [...leavable(whole, speaking).values()] }];
    }),
  );
  const drawn = fc.record({ sort: fc.nat(5000), place: fc.nat(5000) });
  const draw = fc.record({
    ...{ lot: fc.constantFrom(...lots.keys()), spoilt: fc.option(drawn, { freq: 5 }) },
    how: fc.constantFrom('near', 'far', 'gone'),
    gone: fc.array(drawn, { minLength: 1, maxLength: most }),
  });
  const seen = new Set<string>();
  fc.assert(
    fc.property(draw, ({ lot, spoilt, how, gone }) => {
      const { whole, told, left } = all.get(lot)!;
      const bad = spoilt && pathIn(how === 'gone' ? left : told, spoilt);
      const spoil = (path: Path) =>
        how === 'gone' ? without(whole, path) : changed(whole, path, worsen(how === 'far'));
      const before = bad === null ? whole : spoil(bad);
      const said = freeIn(before);
      // Times that contradict each other are put right by leaving one of them out.
      if (said === undefined || said.isOutOfOrder) return;
      const removed = gone.map((one) => pathIn(left, one)).filter((path) => bad === null || !isWithin(bad, path));
      const after = freeIn(removed.reduce(without, before));
      const less = after === undefined ? 'refused' : after.free.length < said.free.length;
      seen.add(`${said.free.length > 0} ${less}`);
      const more = after?.free.filter((one) => !said.free.includes(one)) ?? [];
      if (more.length > 0)
        throw new Error(`${lot}: ${more} without ${removed.map((path) => path.join(' ')).join('; ')}`);
    }),
    { numRuns: runs },
  );
  return seen;
}

function pathIn(sorts: readonly (readonly Path[])[], { sort, place }: Drawn): Path {
  const paths = sorts[sort % sorts.length]!;
  return paths[place % paths.length]!;
}

const isWithin = (path: Path, outer: Path): boolean => outer.every((name, index) => name === path[index]);

const worsen =
  (isFar: boolean) =>
  // biome-ignore lint/suspicious/noExplicitAny: it is taken apart at any depth
  (holder: any, name: string | number): void => {
    holder[name] = otherwise(holder[name], isFar) ?? holder[name];
  };

/** A lot without everything of some sorts: documents of a kind, statements of a meaning on things of a kind. */
function withoutSorts({ dossier, parts }: WholeLot, sorts: ReadonlySet<string>): WholeLot {
  const less = (carried: WholeLot['dossier']) => ({
    ...carried,
    pinned: carried.pinned.filter(({ kind }: { kind: string }) => !sorts.has(kind)),
    signatures: carried.signatures.filter((signed: SignedStatement) => !sorts.has(statementSort(signed))),
  });
  const left = Object.entries(parts).map(([name, part]) => [name, name.startsWith('case-') ? less(part) : part]);
  return { dossier: less(dossier), parts: Object.fromEntries(left) };
}

const statementSort = ({ statement: { meaning, subjects } }: SignedStatement): string =>
  `${meaning}: ${subjects[0]!.kind}`;

/** Kinds of documents that hide, once they are gone, that statements of a sort are not there. */
export function hidingKinds(whole: WholeLot): string[] {
  const carriers = [whole.dossier, ...Object.values(whole.parts).filter((part) => part.pinned !== undefined)];
  const kinds = carriers.flatMap(({ pinned }) => pinned.map(({ kind }: { kind: string }) => kind));
  const meant = carriers.flatMap(({ signatures }) => signatures.map(statementSort));
  const others = [...new Set<string>(kinds)].filter((kind) => !ASK.has(kind));
  const freeWithout = (...gone: readonly string[]) => freeIn(withoutSorts(whole, new Set(gone)))?.free;
  return [...new Set<string>(meant)].flatMap((sort) => {
    const before = freeWithout(sort) ?? [];
    return others.flatMap((kind) => {
      const more = freeWithout(sort, kind)?.filter((one) => !before.includes(one)) ?? [];
      return more.length === 0 ? [] : [`${more} without "${sort}" once every ${kind} is gone`];
    });
  });
}
