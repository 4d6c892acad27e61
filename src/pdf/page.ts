import { drawContents } from './contents.js';
import { DrySheet } from './dry-sheet.js';
import { drawFigure, drawFigureRow, type FigureSpec } from './figure.js';
import { Flow } from './flow.js';
import type { Attachment } from './sheet.js';
import { drawTable, type TableSpec } from './table.js';
import {
  type CalloutSpec,
  drawCallout,
  drawFacts,
  drawHeading,
  drawList,
  drawParagraph,
  drawTitle,
  type Fact,
} from './text.js';
import type { Text } from './text-layout.js';

export interface HeadingOptions {
  /** Name under which links reach the heading. */
  readonly anchor?: string;
  /** Begins on a page of its own. */
  readonly newPage?: boolean;
  /** Points of what follows that stay on the page of the heading: before a figure more than a few lines. */
  readonly keepPt?: number;
  /** `false` leaves it out of the table of contents. */
  readonly listed?: boolean;
}

/**
 * What sections of the record draw with. Every call puts its part below the one before and turns the page as needed.
 * Texts may hold links: `['see ', { text: 'row 12', to: 'result 12' }]` leads to the row with the anchor `result 12`.
 * A record is drawn more than once (page numbers must be known before they are printed): a section draws the same
 * each time and changes nothing else.
 * A character that no embedded font has is drawn as its code.
 */
export class RecordPage {
  private sectionOpen = false;

  constructor(private readonly flow: Flow) {}

  /** The title on page 1; `subtitle` stands below it in smaller letters. */
  title(title: string, subtitle?: Text): void {
    drawTitle(this.flow, title, subtitle);
  }

  /** A heading with a bookmark and an entry in the contents. Level 1 begins a section. */
  heading(level: 1 | 2 | 3, text: string, options: HeadingOptions = {}): void {
    if (level === 1) this.beginSection();
    if (options.newPage && !this.flow.atTop) this.flow.addPage();
    const anchor = options.anchor ?? this.flow.nextHeadingAnchor();
    drawHeading(this.flow, level, text, anchor, options);
  }

  /** `leads`: it leads from a heading to what follows, and stays with both. */
  paragraph(text: Text, options: { readonly small?: boolean; readonly leads?: boolean } = {}): void {
    drawParagraph(this.flow, text, options.small ?? false, options.leads ?? false);
  }

  list(items: readonly Text[], options: { readonly small?: boolean } = {}): void {
    drawList(this.flow, items, options.small ?? false);
  }

  /** Names and values below each other. */
  facts(facts: readonly Fact[], options: { readonly small?: boolean } = {}): void {
    drawFacts(this.flow, facts, options.small ?? false);
  }

  /** A box for cautions, exceptions and notes. */
  callout(spec: CalloutSpec): void {
    drawCallout(this.flow, spec);
  }

  table(spec: TableSpec): void {
    drawTable(this.flow, spec);
  }

  figure(spec: FigureSpec): void {
    drawFigure(this.flow, spec);
  }

  /** Figures beside each other, made for a part of the width. */
  figures(specs: readonly FigureSpec[]): void {
    const [only, ...more] = specs;
    if (only !== undefined && more.length === 0) drawFigure(this.flow, only);
    else if (only !== undefined) drawFigureRow(this.flow, specs);
  }

  /** The table of contents down to the given level of headings. */
  contents(deepest: 1 | 2 | 3 = 2, columns: 1 | 2 = 1): void {
    drawContents(this.flow, deepest, columns);
  }

  /** Names the present place, so that links can lead here. */
  anchor(name: string): void {
    this.flow.need(1);
    this.flow.anchor(name);
  }

  /** Number of the page on which an anchor stands, as text. */
  pageOf(anchor: string): string {
    return this.flow.pageOf(anchor);
  }

  /** Whether what `draw` draws fits on one page by itself. */
  fitsOnPage(draw: (page: RecordPage) => void): boolean {
    const { identity, known } = this.flow;
    const dry = new Flow(new DrySheet(), identity, known);
    draw(new RecordPage(dry));
    return dry.page <= 1;
  }

  pageBreak(): void {
    if (!this.flow.atTop) this.flow.addPage();
  }

  /** Carries a file inside the PDF. It appears in the reader's list of attachments, not on a page. */
  attach(file: Attachment): void {
    this.flow.sheet.attach(file);
  }

  /** Called once by the renderer after the last section. */
  end(): void {
    this.endSection();
  }

  private beginSection(): void {
    this.endSection();
    this.flow.sheet.open('Sect');
    this.sectionOpen = true;
  }

  private endSection(): void {
    if (this.sectionOpen) this.flow.sheet.close();
    this.sectionOpen = false;
  }
}
