import { z } from 'zod';
import { compareDecimal, sumDecimals } from '../base/decimal.js';
import type { Problem } from '../base/errors.js';
import { gramsOf } from '../kinds/amount.js';
import { kindTitle } from '../kinds/catalogue.js';
import type { LinkDraft } from '../kinds/kind.js';
import { yieldOf } from '../kinds/powder-state.js';
import { genealogyProblems } from './genealogy-rules.js';
import type { Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/** What contains itself or what was there only later, and more powder or material taken than there was. */
export async function powderProblems(documents: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const fresh: ReadDocument[] = [];
  for (const document of documents) if (!(await known.isRecorded(document))) fresh.push(document);
  return [...(await genealogyProblems(fresh, known)), ...(await massProblems(documents, fresh, known))];
}

/** Mass that something takes from a receipt or a powder state. */
interface Take {
  readonly kind: string;
  readonly key: string;
  readonly massG: string;
  /** What was recovered came out of what builds had taken. */
  readonly recovered: boolean;
  readonly document?: ReadDocument;
  readonly field?: string;
}

const takerName = (take: { kind: string; key: string }): string => `${take.kind} ${take.key}`;

const Taker = z.looseObject({ operation: z.string().optional(), state: z.string().optional() });

/** What one revision takes, or undefined for a build that is only planned. */
function takeOf(kind: string, key: string, body: unknown, massG: string): Take[] {
  const { operation, state } = Taker.parse(body);
  if (kind === 'build' && state === 'planned') return [];
  return [{ kind, key, massG, recovered: kind === 'powder-state' && operation === 'recover' }];
}

/** What the documents take, by the name of what they take it from, and everything in them that may take. */
function freshTakes(documents: readonly ReadDocument[]): { takes: Map<string, Take[]>; takers: Set<string> } {
  const takes = new Map<string, Take[]>();
  const takers = new Set<string>();
  const add = (document: ReadDocument, kind: string, key: string, body: unknown, links: readonly LinkDraft[]) => {
    // A second lot of a build names it again.
    if (takers.has(takerName({ kind, key }))) return;
    takers.add(takerName({ kind, key }));
    for (const { kind: source, key: from, massG, field } of links) {
      if (massG === undefined) continue;
      const name = takerName({ kind: source, key: from });
      const own = takeOf(kind, key, body, massG).map((take) => ({ ...take, document, field }));
      takes.set(name, [...(takes.get(name) ?? []), ...own]);
    }
  };
  for (const document of documents) {
    const { kind, body } = document;
    add(document, kind.kind, kind.key(body), body, kind.links(body));
    for (const item of kind.declares(body)) add(document, item.kind, item.key, item.body, item.links);
  }
  return { takes, takers };
}

async function massProblems(
  documents: readonly ReadDocument[],
  fresh: readonly ReadDocument[],
  known: Known,
): Promise<Problem[]> {
  const { takes, takers } = freshTakes(documents);
  const sources = new Map<string, { kind: string; key: string; document?: ReadDocument }>();
  for (const document of fresh) {
    const { kind, body } = document;
    const own = { kind: kind.kind, key: kind.key(body) };
    if (['receipt', 'powder-state'].includes(own.kind)) sources.set(takerName(own), { ...own, document });
    for (const link of [...kind.links(body), ...kind.declares(body).flatMap((item) => item.links)]) {
      if (link.massG !== undefined && !sources.has(takerName(link))) sources.set(takerName(link), link);
    }
  }
  const problems: Problem[] = [];
  for (const [name, source] of sources) {
    const held = await massOf(source.kind, source.key, known);
    if (held === undefined) continue;
    const stored = (await known.takers(source.kind, source.key))
      .filter((taker) => !takers.has(takerName(taker)))
      .flatMap((taker) => takeOf(taker.kind, taker.key, taker.body, taker.massG));
    const all = [...stored, ...(takes.get(name) ?? [])];
    const taken = takenMass(all);
    if (compareDecimal(taken, held) <= 0) continue;
    const last = all.findLast((take) => take.document && fresh.includes(take.document));
    const document = last?.document ?? source.document!;
    const field = last?.field ?? (source.kind === 'receipt' ? 'massG' : 'inputs');
    problems.push({
      code: 'more-taken-than-there-was',
      file: document.file,
      line: document.lineOf(field),
      field,
      found: `${taken} g taken of ${held} g of ${kindTitle(source.kind)} ${source.key}: ${sumText(all)}`,
      expected: 'no more taken than there was; what was recovered counts only beyond what builds had taken',
      remedy: 'correct the mass that is wrong, or name the state from which the powder was really taken',
    });
  }
  return problems;
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

function takenMass(takes: readonly Take[]): string {
  const sum = (chosen: readonly Take[]) => sumDecimals(chosen.map(({ massG }) => massG));
  const recovered = sum(takes.filter((take) => take.recovered));
  const built = sum(takes.filter(({ kind }) => kind === 'build'));
  const mixed = sum(takes.filter((take) => !take.recovered && take.kind !== 'build'));
  return sumDecimals([mixed, compareDecimal(recovered, built) > 0 ? recovered : built]);
}

const MOST_SHOWN = 8;

function sumText(takes: readonly Take[]): string {
  const largest = [...takes].sort((a, b) => Number(b.massG) - Number(a.massG));
  const shown = largest
    .slice(0, MOST_SHOWN)
    .map((take) => `${take.massG} g ${take.recovered ? 'recovered as' : 'by'} ${kindTitle(take.kind)} ${take.key}`);
  const rest = takes.length - shown.length;
  return [...shown, ...(rest > 0 ? [`${rest} smaller ones`] : [])].join(' + ');
}
