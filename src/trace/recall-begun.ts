import { BadInputError, NotFoundError } from '../base/errors.js';
import { recall } from '../kinds/after-release/recall.js';
import { type PlacedPart, placesOfImplants } from '../lots/unit-places.js';
import { RECALL_FILES, RECALL_LINES, recallQuery } from '../report/phrases/recall.js';
import type { Store } from '../store/store.js';
import { type RecallAsked, recallDocument } from './recall.js';
import type { TraceReport } from './traced.js';
import type { Tracer } from './tracer.js';

/** What is called back, as a command or a page asks for it. */
export interface RecallBegun {
  /** Any identifier that a trace takes. */
  readonly id: string;
  readonly code: string;
  readonly drill: boolean;
  readonly trigger: string;
  readonly reason: string;
  readonly aimHours: string | undefined;
  /** Moments with their offsets. */
  readonly from: string | undefined;
  readonly to: string | undefined;
}

export interface DraftedRecall {
  readonly asked: RecallAsked;
  /** In the order of their serials, where they are now. */
  readonly units: readonly PlacedPart[];
  readonly document: Record<string, unknown>;
}

/**
 * Implants that were made from or with something, and where they are now. Where there are none, those that lie behind it:
 * the implants of a handover.
 * @throws NotFoundError when no implant has to do with it; BadInputError for an identifier of more things than are traced.
 */
export async function unitsToCallBack(
  { store, tracer }: { readonly store: Store; readonly tracer: Tracer },
  { id, from, to }: Pick<RecallBegun, 'id'> & Partial<Pick<RecallBegun, 'from' | 'to'>>,
): Promise<{ readonly units: readonly PlacedPart[]; readonly head: RecallAsked['head'] }> {
  const ahead = await tracer.trace(id, { forward: true, from, to });
  const { candidates, head } = ahead;
  if (candidates.length > 0) {
    const found = `"${id}", which names ${candidates.length} things`;
    throw wrong('id', found, 'what names one thing', 'choose one of those that the page Find lists');
  }
  const own = serialsIn(ahead);
  const serials = own.length > 0 ? own : serialsIn(await tracer.trace(id, { from, to }));
  const units = (await placesOfImplants(store.read, serials)).sort((a, b) => (a.key < b.key ? -1 : 1));
  if (units.length === 0) throw new NotFoundError(RECALL_LINES.nothing, id);
  return { units, head };
}

const serialsIn = ({ matches }: Pick<TraceReport, 'matches'>): string[] => [
  ...new Set(matches.flatMap(({ units }) => units.map(({ serial }) => serial))),
];

/**
 * A recall or a drill from one trace, to be taken in: every unit that it names is on hold from then on, but for a drill.
 * @throws NotFoundError when no implant has to do with it; BadInputError for what would be refused when it is taken in, and for
 * a code that another recall has.
 */
export async function draftedRecall(
  services: { readonly store: Store; readonly tracer: Tracer },
  { code, drill, trigger, reason, aimHours, ...of }: RecallBegun,
): Promise<DraftedRecall> {
  const { store } = services;
  const { units, head } = await unitsToCallBack(services, of);
  if ((await store.read.entries.current('recall', code)) !== undefined) {
    throw wrong('code', code, 'a code that no recall has yet', 'give it a code of its own');
  }
  const started = store.clock.now().toISOString();
  const asked = { recall: code, drill, trigger, reason, query: recallQuery(of), started, aimHours, head };
  const document = recallDocument(asked, units);
  checkDocument(document);
  return { asked, units, document };
}

/** As the intake takes a document in that was made here. */
export const madeRecall = (document: Record<string, unknown>) => ({ file: RECALL_FILES.document, document });

const wrong = (field: string, found: string, expected: string, remedy: string) =>
  new BadInputError([{ code: 'recall', field, found, expected, remedy }]);

/** What forms and options call a field of the document. */
const FIELDS: Readonly<Record<string, string>> = { recall: 'code', aimHours: 'aim' };

function checkDocument(document: Record<string, unknown>): void {
  const read = recall.schema.safeParse(document);
  const faults = read.success
    ? recall.contradictions(read.data)
    : read.error.issues.map(({ path: [name], message }) => ({
        ...{ field: String(name), found: String(document[String(name)] || 'nothing'), expected: message },
        remedy: 'mend it',
      }));
  if (faults.length === 0) return;
  throw new BadInputError(
    faults.map(({ field, ...fault }) => ({ code: 'recall', ...fault, field: FIELDS[field] ?? field })),
  );
}
