import { type DesignRevision, isOfKind } from '../../design-history/design-facts.js';
import type { DesignIndex } from '../../design-history/design-index.js';
import { entryTies, toldOnce } from '../../design-history/entry-ties.js';
import { timeText } from '../../dossier/time-text.js';
import { kindNamed } from '../../kinds/catalogue.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Fact } from '../../pdf/text.js';
import type { Span } from '../../pdf/text-layout.js';
import { short } from '../../report/anchors.js';
import type { DesignSection } from '../../report/design-template.js';
import { saidBy } from '../../report/document-words.js';
import { capital } from '../../report/phrases/capital.js';
import { DESIGN_PAPER as WORDS } from '../../report/phrases/design-paper.js';
import { entryText, kindText } from '../../report/phrases/kinds.js';
import { TIES_IN_WORDS } from '../../report/phrases/ties.js';
import type { DesignPaperView } from './view.js';

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
const TOLD = ['kind', 'format', 'revision', 'family', 'title', 'approval', 'reason', 'touches'];

export const standingText = ({ authors, approvedBy, approvedAt }: DesignRevision): string =>
  WORDS.standing(authors, approvedBy, approvedAt === null ? null : timeText(approvedAt));

/** One document: what it says, field by field, who stands behind it, and what it is tied to. */
export function drawDocument(
  pdf: RecordPage,
  { design, content }: Pick<DesignPaperView, 'design' | 'content'>,
  one: DesignRevision,
  more: readonly Fact[] = [],
  without: readonly string[] = [],
): void {
  const { kind, key, revision, name, digest } = one;
  pdf.heading(2, WORDS.document(kindText(kind), key, name), { anchor: entryAnchor(one), keepPt: 60, listed: false });
  const said = saidBy(one, [...TOLD, ...without]).map(({ label, text }): Fact => [label, text]);
  const ties = entryTies(design, one);
  const named = toldOnce(ties?.namedBy ?? []).map(({ tie, other }) => [
    ...entryLink(pdf, design, other, `${entryText(other.kind, other.key, null)} (${TIES_IN_WORDS[tie]})`),
  ]);
  pdf.facts(
    [
      ...said,
      ...more,
      [WORDS.namedBy, joined(named)],
      ...filesOf(pdf, content, one),
      [
        WORDS.record,
        [
          `${WORDS.revision(revision)}, `,
          standingText(one),
          ...(one.authors.length === 0 && one.approvedBy === null
            ? []
            : [` (${WORDS.signatures}, `, sectionLink(pdf, 'signatures'), ')']),
          ', ',
          mono(short(digest)),
        ],
      ],
    ],
    { small: true },
  );
  if (isOfKind(one, 'design-change')) drawTouched(pdf, one);
}

/** What a change touches, line by line, with what follows for it. */
function drawTouched(pdf: RecordPage, one: DesignRevision<'design-change'>): void {
  const { touches } = one.body;
  if (touches === undefined) return;
  pdf.table({
    caption: WORDS.touched(one.key, touches.asOf.entries, touches.lines.length),
    columns: [
      { head: WORDS.what, width: 3 },
      { head: WORDS.whyTouched, width: 4 },
      { head: WORDS.follows, width: 5 },
    ],
    rows: touches.lines.map(({ sort, key, says, answer }) => [
      `${capital(sort)}: ${touchedText(key)}`,
      says,
      answer ?? WORDS.nobodyAnswered,
    ]),
    empty: WORDS.noneSentence,
  });
}

/** Files that it names, each with where it is: carried, or by its digest alone. */
function filesOf(
  pdf: RecordPage,
  { evidence }: DesignPaperView['content'],
  { kind, key, revision }: DesignRevision,
): Fact[] {
  const own = evidence.filter((file) => file.kind === kind && file.key === key && file.revision === revision);
  if (own.length === 0) return [];
  const told = own.map(({ name, fileName, sha256, carriedAs }): Span[] => [
    `${WORDS.fileNamed(name, fileName, carriedAs)}, `,
    mono(short(sha256)),
  ]);
  return [[WORDS.files, [...joined(told), ', ', sectionLink(pdf, 'attachments')]]];
}

export const sectionAnchorOf = (section: DesignSection): string => `section ${section}`;

const sectionLink = (pdf: RecordPage, section: DesignSection): Span => ({
  text: WORDS.page(pdf.pageOf(sectionAnchorOf(section))),
  to: sectionAnchorOf(section),
});

/** A line names a document by its kind and code. */
function touchedText(key: string): string {
  const [kind, ...code] = key.split(' ');
  return code.length > 0 && kindNamed(kind!) !== undefined ? entryText(kind!, code.join(' '), null) : key;
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
