import { z } from 'zod';
import { compareDecimal, sumDecimals } from '../base/decimal.js';
import type { Problem } from '../base/errors.js';
import { amountOf, gramsOf } from '../kinds/amount.js';
import type { LinkDraft } from '../kinds/kind.js';
import { yieldOf } from '../kinds/powder-state.js';
import { kindText } from '../report/phrases/kinds.js';
import type { Reads } from '../store/repositories.js';
import { genealogyProblems } from './genealogy-rules.js';
import { Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/** What contains itself or what was there only later, and more powder or material taken than there was. */
export async function powderProblems(documents: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const fresh: ReadDocument[] = [];
  for (const document of documents) if (!(await known.isRecorded(document))) fresh.push(document);
  return [
    ...(await genealogyProblems(fresh, known)),
    ...(await amountProblems('g', documents, fresh, known)),
    ...(await amountProblems('pieces', documents, fresh, known)),
  ];
}

/** By what one counts: grams, or pieces. */
export type Measure = 'g' | 'pieces';

/** What something takes from a receipt or a powder state. */
interface Take {
  readonly kind: string;
  readonly key: string;
  readonly amount: string;
  /** What was recovered came out of what builds had taken. */
  readonly recovered: boolean;
  readonly document?: ReadDocument;
  readonly field?: string;
}

const takerName = (take: { kind: string; key: string }): string => `${take.kind} ${take.key}`;

/** How much a tie carries, by one measure. */
function amountOn(
  tie: { readonly massG?: string | null; readonly count?: number | null },
  measure: Measure,
): string | undefined {
  const amount = measure === 'g' ? tie.massG : tie.count;
  return amount === undefined || amount === null ? undefined : String(amount);
}

const TakerFields = z.looseObject({ operation: z.string().optional(), state: z.string().optional() });

/** What one revision takes: nothing where it is a build that is only planned. */
function takeOf(kind: string, key: string, body: unknown, amount: string | undefined): Take[] {
  if (amount === undefined) return [];
  const { operation, state } = TakerFields.parse(body);
  if (kind === 'build' && state === 'planned') return [];
  return [{ kind, key, amount, recovered: kind === 'powder-state' && operation === 'recover' }];
}

/** What the documents take, by the name of what they take it from, and everything in them that may take. */
function freshTakes(documents: readonly ReadDocument[], measure: Measure) {
  const takes = new Map<string, Take[]>();
  const takers = new Set<string>();
  const add = (document: ReadDocument, kind: string, key: string, body: unknown, links: readonly LinkDraft[]) => {
    // A second lot of a build names it again.
    if (takers.has(takerName({ kind, key }))) return;
    takers.add(takerName({ kind, key }));
    for (const link of links) {
      const name = takerName(link);
      const taken = takeOf(kind, key, body, amountOn(link, measure));
      const own = taken.map((take) => ({ ...take, document, field: link.field }));
      if (own.length > 0) takes.set(name, [...(takes.get(name) ?? []), ...own]);
    }
  };
  for (const document of documents) {
    const { kind, body } = document;
    add(document, kind.kind, kind.key(body), body, kind.links(body));
    for (const item of kind.declares(body)) add(document, item.kind, item.key, item.body, item.links);
  }
  return { takes, takers };
}

async function amountProblems(
  measure: Measure,
  documents: readonly ReadDocument[],
  fresh: readonly ReadDocument[],
  known: Known,
): Promise<Problem[]> {
  const { takes, takers } = freshTakes(documents, measure);
  const sources = new Map<string, { kind: string; key: string; document?: ReadDocument }>();
  for (const document of fresh) {
    const { kind, body } = document;
    const own = { kind: kind.kind, key: kind.key(body) };
    if (['receipt', 'powder-state'].includes(own.kind)) sources.set(takerName(own), { ...own, document });
    for (const link of [...kind.links(body), ...kind.declares(body).flatMap((item) => item.links)]) {
      if (amountOn(link, measure) !== undefined && !sources.has(takerName(link))) sources.set(takerName(link), link);
    }
  }
  const problems: Problem[] = [];
  for (const [name, source] of sources) {
    const held = await (measure === 'g' ? massOf : piecesOf)(source.kind, source.key, known);
    if (held === undefined) continue;
    const stored = (await known.takers(source.kind, source.key))
      .filter((taker) => !takers.has(takerName(taker)))
      .flatMap((taker) => takeOf(taker.kind, taker.key, taker.body, amountOn(taker, measure)));
    const all = [...stored, ...(takes.get(name) ?? [])];
    const taken = takenIn(all);
    if (compareDecimal(taken, held) <= 0) continue;
    const last = all.findLast((take) => take.document && fresh.includes(take.document));
    const document = last?.document ?? source.document!;
    const field = last?.field ?? (await amountField(source.kind, source.key, known));
    problems.push({
      code: 'more-taken-than-there-was',
      file: document.file,
      line: document.lineOf(field),
      field,
      found: `${taken} ${measure} taken of ${held} ${measure} of ${kindText(source.kind)} ${source.key}: ${sumText(all, measure)}`,
      expected: 'no more taken than there was; what was recovered counts only beyond what builds had taken',
      remedy: REMEDY[measure],
    });
  }
  return problems;
}

const REMEDY: Readonly<Record<Measure, string>> = {
  g: 'correct the mass that is wrong, or name the state from which the powder was really taken',
  pieces: 'correct the number that is wrong, or name the receipt from which the pieces were really taken',
};

/** The field that says how much there was. */
async function amountField(kind: string, key: string, known: Known): Promise<string> {
  if (kind !== 'receipt') return 'inputs';
  return (await known.body('receipt', key))?.quantity === undefined ? 'massG' : 'quantity';
}

/** Pieces that came in, or undefined where they were not counted. */
async function piecesOf(kind: string, key: string, known: Known): Promise<string | undefined> {
  if (kind !== 'receipt') return undefined;
  const { count } = amountOf((await known.body('receipt', key))?.quantity);
  return count === undefined ? undefined : String(count);
}

/** Grams that came in or came out of the mixing, or undefined when nobody stated them. */
async function massOf(kind: string, key: string, known: Known): Promise<string | undefined> {
  if (kind === 'receipt') {
    const receipt = await known.body('receipt', key);
    return receipt?.massG ?? (receipt?.quantity && gramsOf(receipt.quantity));
  }
  if (kind !== 'powder-state') return undefined;
  const state = await known.body('powder-state', key);
  // Nobody takes what was thrown away.
  return state && (state.operation === 'discard' ? '0' : yieldOf(state));
}

/** What is left of something by what is stored, and what planned builds would take of that. */
export interface Left {
  readonly measure: Measure;
  readonly left: string;
  readonly reserved: string;
}

/** What is left of a receipt or a powder state, in grams or in pieces; undefined where nobody stated what there was. */
export async function stockLeft(kind: 'receipt' | 'powder-state', key: string, read: Reads): Promise<Left | undefined> {
  const known = new Known(read, []);
  const grams = await massOf(kind, key, known);
  const held = grams ?? (await piecesOf(kind, key, known));
  if (held === undefined) return undefined;
  const measure = grams === undefined ? 'pieces' : 'g';
  const takers = await known.takers(kind, key);
  const taken = takenIn(takers.flatMap((taker) => takeOf(taker.kind, taker.key, taker.body, amountOn(taker, measure))));
  const planned = takers
    .filter((taker) => taker.kind === 'build' && TakerFields.parse(taker.body).state === 'planned')
    .flatMap((taker) => amountOn(taker, measure) ?? []);
  return { measure, left: sumDecimals([held, taken.replace(/^[+-]?/, '-')]), reserved: sumDecimals(planned) };
}

/** Grams that are left; undefined where nobody weighed what there was. */
export async function gramsLeft(...of: Parameters<typeof stockLeft>): Promise<string | undefined> {
  const found = await stockLeft(...of);
  return found?.measure === 'g' ? found.left : undefined;
}

function takenIn(takes: readonly Take[]): string {
  const sum = (chosen: readonly Take[]) => sumDecimals(chosen.map(({ amount }) => amount));
  const recovered = sum(takes.filter((take) => take.recovered));
  const built = sum(takes.filter(({ kind }) => kind === 'build'));
  const mixed = sum(takes.filter((take) => !take.recovered && take.kind !== 'build'));
  return sumDecimals([mixed, compareDecimal(recovered, built) > 0 ? recovered : built]);
}

const MOST_SHOWN = 8;

function sumText(takes: readonly Take[], measure: Measure): string {
  const largest = [...takes].sort((a, b) => Number(b.amount) - Number(a.amount));
  const shown = largest
    .slice(0, MOST_SHOWN)
    .map(
      (take) =>
        `${take.amount} ${measure} ${take.recovered ? 'recovered as' : 'by'} ${kindText(take.kind)} ${take.key}`,
    );
  const rest = takes.length - shown.length;
  return [...shown, ...(rest > 0 ? [`${rest} smaller ones`] : [])].join(' + ');
}
