import type { Scene } from '../base/scene.js';
import type { Fragment } from './text-layout.js';

/** Structure types of PDF 1.7 (ISO 32000-1, 14.8.4) that the record uses. */
export type Tag =
  | 'Sect'
  | 'Div'
  | 'P'
  | 'H1'
  | 'H2'
  | 'H3'
  | 'L'
  | 'LI'
  | 'Lbl'
  | 'LBody'
  | 'Table'
  | 'THead'
  | 'TBody'
  | 'TR'
  | 'TH'
  | 'TD'
  | 'Caption'
  | 'Figure'
  | 'TOC'
  | 'TOCI'
  | 'Reference'
  | 'Link';

export interface TagOptions {
  /** What stands for the content when it is read aloud. */
  readonly alt?: string;
  readonly title?: string;
  /** Which cells a table head speaks for. */
  readonly scope?: 'Column' | 'Row';
  readonly box?: Box;
}

/** Page coordinates in points; y counts downwards from the top of the page. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly w: number;
  readonly h: number;
}

export type ArtifactKind = 'layout' | 'header' | 'footer' | 'watermark' | 'repeated';

export interface Attachment {
  /** Plain file name: letters, digits, dot, hyphen and underscore. */
  readonly name: string;
  readonly bytes: Buffer;
  readonly mediaType: string;
  /** How it belongs to the record: ISO 19005-3 annex E. */
  readonly relationship: 'Source' | 'Data' | 'Alternative' | 'Supplement' | 'Unspecified';
  readonly description: string;
}

/**
 * What the layout draws on. One sheet writes a PDF; the other only turns pages, and lays out at a fraction of the time
 * so that page numbers are known before the first page is written. Functions given to `content` and `artifact` draw
 * and change nothing else: the second kind of sheet does not call them.
 */
export interface Sheet {
  /** @param place which page it is and of how many, as far as that is known; 0 before. */
  addPage(place: { readonly page: number; readonly of: number }): void;

  /** Opens an element of the structure tree inside the innermost open one. */
  open(tag: Tag, options?: TagOptions): void;
  close(): void;
  /** Draws content of the innermost open element. */
  content(draw: () => void): void;
  /** Draws what belongs to the page and not to the text. Not while content is drawn. */
  artifact(kind: ArtifactKind, draw: () => void): void;

  /** Sets a fragment with its base line at `y`. */
  text(fragment: Fragment, x: number, y: number, sizePt: number, colour: string): void;
  rect(box: Box, fill: string): void;
  line(x1: number, y1: number, x2: number, y2: number, colour: string, widthPt: number): void;
  /** Large light letters across the page. They are outlines and no text, so that nobody copies them by mistake. */
  watermark(word: string): void;
  scene(scene: Scene, box: Box): void;

  /** Makes the box lead to the anchor. Inside an open `Link` element, on the same page. */
  link(box: Box, anchor: string, alt: string): void;
  /** Where a link to the anchor arrives. */
  destination(anchor: string, y: number): void;
  bookmark(level: number, title: string, y: number): void;
  attach(file: Attachment): void;
}

export const PAGE = { width: 595.28, height: 841.89, left: 54, right: 541.28, top: 62, bottom: 792 } as const;
export const TEXT_WIDTH = PAGE.right - PAGE.left;
