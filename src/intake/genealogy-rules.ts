import { z } from 'zod';
import type { Problem } from '../base/errors.js';
import { kindNamed } from '../kinds/catalogue.js';
import { Consumable } from '../kinds/consumable.js';
import type { LinkDraft } from '../kinds/kind.js';
import { Build } from '../kinds/lot.js';
import { PowderState } from '../kinds/powder-state.js';
import { Receipt } from '../kinds/receipt.js';
import { TIES, type TieMeaning } from '../kinds/ties.js';
import { kindText } from '../report/phrases/kinds.js';
import type { Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/** Kinds that are mixed of others of their own kind. */
const MIXED = ['powder-state', 'consumable'] as const;

/** What something was made of, as its document says. */
const inputsIn = (links: readonly LinkDraft[]): LinkDraft[] =>
  links.filter(({ name }) => {
    const { sense, leads }: TieMeaning = TIES[name];
    return sense === 'made of' && leads === 'back';
  });

/** What contains itself, and what was made of things that were there only later. */
export async function genealogyProblems(fresh: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const kind of MIXED) problems.push(...(await loopProblems(kind, fresh, known)));
  return [...problems, ...(await timeProblems(fresh, known))];
}

/** Each is visited once, so that no graph takes long, however it is tied. */
async function loopProblems(name: string, fresh: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const documents = new Map(
    fresh.filter(({ kind }) => kind.kind === name).map((item) => [item.kind.key(item.body), item]),
  );
  const inputsOf = (body: unknown) => inputsIn(kindNamed(name)!.links(body)).filter(({ kind }) => kind === name);
  const loops: string[][] = [];
  const open = new Set<string>();
  const done = new Set<string>();
  let leadsBack = false;
  for (const key of documents.keys()) leadsBack ||= (await known.revisions(name, key)).length > 0;
  const visit = async (key: string): Promise<void> => {
    // What is stored names nothing that is new: only where a stored entry changes can a way through the store lead back.
    if (!leadsBack && !documents.has(key)) return;
    if (open.has(key)) {
      const path = [...open];
      loops.push([...path.slice(path.indexOf(key)), key]);
      return;
    }
    if (done.has(key)) return;
    open.add(key);
    const body = await known.body(name, key);
    if (body !== undefined) for (const input of inputsOf(body)) await visit(input.key);
    open.delete(key);
    done.add(key);
  };
  for (const key of documents.keys()) await visit(key);
  return loops.flatMap((loop) => {
    const at = loop.findIndex((key) => documents.has(key));
    // A loop of nothing but stored entries is no fault of these documents.
    if (at < 0) return [];
    const { file, body, lineOf } = documents.get(loop[at]!)!;
    const { field } = inputsOf(body).find(({ key }) => key === loop[at + 1])!;
    return [{ file, line: lineOf(field), field, ...LOOPS[name]!(loop.join(' contains ')) }];
  });
}

/** Words for a loop, by kind. */
const LOOPS: Readonly<Record<string, (loop: string) => Pick<Problem, 'code' | 'found' | 'expected' | 'remedy'>>> = {
  'powder-state': (loop) => ({
    code: 'powder-loop',
    found: `powder that contains itself: ${loop}`,
    expected: 'powder made from what was there before',
    remedy: 'give each mix, top-up and recovery a code of its own, and name the state that went into it',
  }),
  consumable: (loop) => ({
    code: 'consumable-loop',
    found: `a consumable that contains itself: ${loop}`,
    expected: 'a consumable taken from what was there before',
    remedy: 'give each filling and batch a code of its own, and name what it was taken from',
  }),
};

/** When something was there, and how that is said. */
interface Being {
  readonly at: string;
  readonly field: string;
  readonly says: string;
}

/** Since when a thing could go into another one; undefined for things without such a time. */
function cameToBe(kind: string, body: unknown): Being | undefined {
  if (kind === 'receipt') return { at: Receipt.parse(body).receivedAt, field: 'receivedAt', says: 'received' };
  if (kind === 'powder-state') return { at: PowderState.parse(body).madeAt, field: 'madeAt', says: 'made' };
  if (kind === 'consumable') return { at: Consumable.parse(body).inUseFrom, field: 'inUseFrom', says: 'in use from' };
  return undefined;
}

/** The last moment at which something could go into a thing; undefined while a build is only planned. */
function lastInputAt(kind: string, body: unknown): string | undefined {
  if (kind !== 'build') return cameToBe(kind, body)?.at;
  const { openedAt, state } = BuildTimes.parse(body);
  return state === 'planned' ? undefined : openedAt;
}

const BuildTimes = z.looseObject({ openedAt: Build.shape.openedAt, state: Build.shape.state });

const isLater = (being: Being, at: string): boolean => Date.parse(being.at) > Date.parse(at);
const nameOf = ({ kind, key }: { readonly kind: string; readonly key: string }): string => `${kindText(kind)} ${key}`;

/**
 * An input that came to be after what was made of it. Asked from both sides: a document may bring the mixture, or another
 * time of what went into mixtures that are stored.
 */
async function timeProblems(fresh: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const problems: Problem[] = [];
  const asked = new Set<string>();
  for (const document of fresh) {
    const { kind, body, file, lineOf } = document;
    const own = { kind: kind.kind, key: kind.key(body), body, links: kind.links(body) };
    for (const made of [own, ...kind.declares(body)]) {
      asked.add(nameOf(made));
      const before = lastInputAt(made.kind, made.body);
      if (before === undefined) continue;
      for (const link of inputsIn(made.links)) {
        const input = await known.body(link.kind, link.key);
        const being = input === undefined ? undefined : cameToBe(link.kind, input);
        if (being === undefined || !isLater(being, before)) continue;
        problems.push({
          code: 'input-after-mixture',
          file,
          line: lineOf(link.field),
          field: link.field,
          found: `${nameOf(link)}, ${being.says} ${being.at}`,
          expected: `something that was there at ${before}, when it went into ${nameOf(made)}`,
          remedy: 'correct one of the two times, or name what really went in',
        });
      }
      for (const link of made.links.filter(({ name }) => name === 'recovered into')) {
        const state = await known.body('powder-state', link.key);
        if (state === undefined || Date.parse(state.madeAt) >= Date.parse(before)) continue;
        problems.push({
          code: 'recovered-before-opening',
          file,
          line: lineOf(link.field),
          field: link.field,
          found: `${nameOf(link)}, made ${state.madeAt}`,
          expected: `a state made after ${before}, when ${nameOf(made)} was opened`,
          remedy: 'correct one of the two times, or name the state that took up what was recovered',
        });
      }
    }
  }
  for (const { kind, body, file, lineOf } of fresh) {
    const being = cameToBe(kind.kind, body);
    if (being === undefined) continue;
    for (const taker of await known.takers(kind.kind, kind.key(body))) {
      const before = asked.has(nameOf(taker)) ? undefined : lastInputAt(taker.kind, taker.body);
      if (before === undefined || !isLater(being, before)) continue;
      problems.push({
        code: 'input-after-mixture',
        file,
        line: lineOf(being.field),
        field: being.field,
        found: `${being.says} ${being.at}`,
        expected: `a time not after ${before}, when it went into ${nameOf(taker)}`,
        remedy: 'correct one of the two times',
      });
    }
  }
  return problems;
}
