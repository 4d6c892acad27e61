import { AppError } from '../base/errors.js';
import { drawFurniture } from './furniture.js';
import type { RecordIdentity } from './identity.js';
import { PAGE, type Sheet } from './sheet.js';

export interface Heading {
  readonly level: 1 | 2 | 3;
  readonly text: string;
  readonly anchor: string;
  readonly page: number;
  /** Whether the table of contents names it. */
  readonly listed: boolean;
}

/** Where everything stands: what one pass over the record learns and the next one uses. */
export interface Outline {
  readonly pages: number;
  readonly headings: readonly Heading[];
  /** Page of every anchor. */
  readonly anchors: ReadonlyMap<string, number>;
  /** Anchors that something leads to. */
  readonly linked: ReadonlySet<string>;
  /** Headings under which nothing found room on their page: they begin the next one. Once found they stay found. */
  readonly pushed: ReadonlySet<string>;
}

export const NOTHING_KNOWN: Outline = {
  pages: 0,
  headings: [],
  anchors: new Map(),
  linked: new Set(),
  pushed: new Set(),
};

/** With more room than this a heading stays: what moved above it since it was found may have made the room. */
const MOST_LEFT_EMPTY = (PAGE.bottom - PAGE.top) / 2;
/** Space that a part leaves above itself before it asks for room, in points. */
const NOTHING_BETWEEN = 6;

/** The place where the next thing is drawn, and the pages it runs over. */
export class Flow {
  /** Top of what comes next, in points from the top of the page. */
  y: number = PAGE.bottom;
  page = 0;
  /** Whether the layout depends on page numbers, so that the first pass cannot be right. */
  askedForPages = false;
  private readonly headings: Heading[] = [];
  private readonly anchors = new Map<string, number>();
  private readonly linked = new Set<string>();
  private readonly pushed: Set<string>;
  /** Headings that follow each other with nothing between them: the first of them, and where the last ends. */
  private lastHeadings: { readonly first: string; readonly page: number; readonly end: number } | undefined;

  /** `known` is what the pass before found out. */
  constructor(
    readonly sheet: Sheet,
    readonly identity: RecordIdentity,
    readonly known: Outline,
  ) {
    this.pushed = new Set(known.pushed);
  }

  addPage(): void {
    const bare = this.lastHeadings;
    if (bare && bare.page === this.page && this.y <= bare.end + NOTHING_BETWEEN) this.pushed.add(bare.first);
    this.page++;
    this.sheet.addPage({ page: this.page, of: this.known.pages });
    this.y = PAGE.top;
    drawFurniture(this.sheet, this.identity, this.page, this.known.pages);
  }

  /** Room that is left on this page. */
  get roomLeft(): number {
    return PAGE.bottom - this.y;
  }

  get atTop(): boolean {
    return this.y <= PAGE.top;
  }

  /** Turns the page when less than `height` is left, unless the page is still empty. */
  need(height: number): void {
    if (this.page === 0 || (height > this.roomLeft && !this.atTop)) this.addPage();
  }

  /** Leaves blank space, but none at the top of a page. */
  space(height: number): void {
    if (this.page > 0 && !this.atTop) this.y += height;
  }

  heading(level: 1 | 2 | 3, text: string, anchor: string, listed: boolean): void {
    this.headings.push({ level, text, anchor, page: this.page, listed });
  }

  /** Turns the page before a heading under which nothing found room in the pass before. */
  beforeHeading(anchor: string): void {
    if (this.known.pushed.has(anchor) && !this.atTop && this.roomLeft < MOST_LEFT_EMPTY) this.addPage();
  }

  /** @param start where its space began. */
  headingDrawn(anchor: string, start: number): void {
    const before = this.lastHeadings;
    const follows = before && before.page === this.page && start <= before.end + NOTHING_BETWEEN;
    this.lastHeadings = { first: follows ? before.first : anchor, page: this.page, end: this.y };
  }

  /** A few words that lead from a heading to what it stands over belong to the heading. */
  leadDrawn(start: number): void {
    const before = this.lastHeadings;
    if (before && before.page === this.page && start <= before.end + NOTHING_BETWEEN) {
      this.lastHeadings = { ...before, end: this.y };
    }
  }

  nextHeadingAnchor(): string {
    return `heading ${this.headings.length + 1}`;
  }

  /** Makes the present place one that links can lead to. */
  anchor(name: string, y = this.y): void {
    if (this.anchors.has(name)) {
      throw new AppError('UNEXPECTED', `two places of the record are both named "${name}"`, { anchor: name });
    }
    this.anchors.set(name, this.page);
    if (this.known.linked.has(name)) this.sheet.destination(name, Math.max(0, y - 6));
  }

  leadsTo(anchor: string): void {
    this.linked.add(anchor);
  }

  /** The headings that the pass before found. */
  contents(): readonly Heading[] {
    this.askedForPages = true;
    return this.known.headings;
  }

  /** Page of an anchor as text; `0` in the first pass, when it is not known yet. */
  pageOf(anchor: string): string {
    this.askedForPages = true;
    this.linked.add(anchor);
    return String(this.known.anchors.get(anchor) ?? 0);
  }

  found(): Outline {
    for (const anchor of this.linked) {
      if (this.anchors.has(anchor)) continue;
      throw new AppError('UNEXPECTED', `the record links to "${anchor}", but no place has this name`, { anchor });
    }
    return {
      pages: this.page,
      headings: this.headings,
      anchors: this.anchors,
      linked: this.linked,
      pushed: this.pushed,
    };
  }
}
