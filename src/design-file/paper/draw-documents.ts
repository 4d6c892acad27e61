import { z } from 'zod';
import type { DesignRevision } from '../../design-history/design-facts.js';
import type { DesignIndex } from '../../design-history/design-index.js';
import { entryTies } from '../../design-history/entry-ties.js';
import { timeText } from '../../dossier/time-text.js';
import { kindNamed } from '../../kinds/catalogue.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Fact } from '../../pdf/text.js';
import type { Span, Text } from '../../pdf/text-layout.js';
import { short } from '../../report/anchors.js';
import { DESIGN_PAPER as WORDS } from '../../report/phrases/design-paper.js';
import { fieldText } from '../../report/phrases/field-words.js';
import { entryText, kindText } from '../../report/phrases/kinds.js';
import { TIES_IN_WORDS } from '../../report/phrases/ties.js';

export const mono = (text: string) => ({ text, style: 'mono' as const });

export const entryAnchor = ({ kind, key }: { readonly kind: string; readonly key: string }): string =>
  `entry ${kind} ${key}`;

/** Name of an entry that leads to where it stands in the file, with the page; plain where it stands nowhere. */
export function entryLink(
  pdf: RecordPage,
  design: DesignIndex,
  ref: { readonly kind: string; readonly key: string },
  text: string = ref.key,
): Span[] {
  if (!IN_FULL.has(ref.kind) || design.latest(ref) === undefined || design.latest(ref)!.withdrawn) return [text];
  const anchor = entryAnchor(ref);
  return [`${text}, `, { text: WORDS.page(pdf.pageOf(anchor)), to: anchor }];
}

/** Links after each other. */
export const joined = (parts: readonly Span[][]): Span[] | string =>
  parts.length === 0 ? WORDS.none : parts.flatMap((part, index) => (index === 0 ? part : ['; ', ...part]));

/** Kinds of documents that stand in the file with all that they say. Of others it tells revision, approval and digest. */
const IN_FULL: ReadonlySet<string> = new Set([
  ...['design-plan', 'user-need', 'design-input', 'design-output', 'design-study', 'design-review', 'hazard'],
  ...['risk-control', 'design-change', 'design-transfer', 'labelling-decision', 'software', 'design-envelope'],
]);

/** What stands in the heading or in the facts below it already. */
const TOLD = new Set(['kind', 'format', 'revision', 'family', 'title', 'approval', 'reason']);

export const standingText = ({ authors, approvedBy, approvedAt }: DesignRevision): string =>
  WORDS.standing(authors, approvedBy, approvedAt === null ? null : timeText(approvedAt));

/** One document: what it says, field by field, who stands behind it, and what it is tied to. */
export function drawDocument(
  pdf: RecordPage,
  design: DesignIndex,
  one: DesignRevision,
  more: readonly Fact[] = [],
  without: readonly string[] = [],
): void {
  const { kind, key, revision, name, digest } = one;
  pdf.heading(3, WORDS.document(kindText(kind), key, name), { anchor: entryAnchor(one), keepPt: 60 });
  const own = kindNamed(kind)?.key(one.body as never);
  const told = new Set([...TOLD, ...without]);
  const said = Object.entries(one.body ?? {})
    .filter(([field, value]) => !told.has(field) && value !== own)
    .sort(byPlace(fieldsOf(kind)))
    .map(([field, value]): Fact => [labelOf(field), valueText(value)]);
  const ties = entryTies(design, one);
  const named = (ties?.namedBy ?? []).map(({ tie, other }) => [
    ...entryLink(pdf, design, other, `${entryText(other.kind, other.key, null)} (${TIES_IN_WORDS[tie]})`),
  ]);
  pdf.facts(
    [
      ...said,
      ...more,
      [WORDS.namedBy, joined(named)],
      [WORDS.record, [`${WORDS.revision(revision)}, `, standingText(one), ', ', mono(short(digest))]],
    ],
    { small: true },
  );
}

/** Fields of a kind in the order in which its schema names them: canonical JSON has them by the alphabet. */
function fieldsOf(kind: string): readonly string[] {
  const schema = kindNamed(kind)?.schema;
  return schema instanceof z.ZodObject ? Object.keys(schema.shape) : [];
}

const byPlace =
  (fields: readonly string[]) =>
  ([a]: [string, unknown], [b]: [string, unknown]): number =>
    fields.indexOf(a) - fields.indexOf(b);

function labelOf(field: string): string {
  const { label, unit } = fieldText(field);
  return unit === undefined ? label : `${label} (${unit})`;
}

/** A value of a document in one text: lists by their items, objects by their fields. */
function valueText(value: unknown): Text {
  if (Array.isArray(value)) {
    const items = value.map((item) => plainText(item));
    return value.every((item) => typeof item === 'string') ? items.join(', ') : items.join('\n');
  }
  return plainText(value);
}

function plainText(value: unknown): string {
  if (value === null || typeof value !== 'object') return String(value);
  if (Array.isArray(value)) return value.map(plainText).join(', ');
  return Object.entries(value)
    .map(([field, inner]) => `${labelOf(field)}: ${plainText(inner)}`)
    .join('; ');
}

/** Documents of which the file tells no more than revision, approval and digest. */
export function drawNamed(pdf: RecordPage, caption: string, documents: readonly DesignRevision[]): void {
  pdf.table({
    caption,
    columns: [
      { head: WORDS.what, width: 3 },
      { head: WORDS.titleHead, width: 5 },
      { head: WORDS.approval, width: 5 },
      { head: WORDS.sha, width: 2.2 },
    ],
    rows: documents.map((one) => [
      entryText(one.kind, one.key, one.revision),
      one.name,
      standingText(one),
      [mono(short(one.digest))],
    ]),
    empty: WORDS.noneSentence,
  });
}
