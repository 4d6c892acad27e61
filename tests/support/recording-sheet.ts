import { DrySheet } from '../../src/pdf/dry-sheet.js';
import type { Box, Sheet } from '../../src/pdf/sheet.js';
import type { Fragment } from '../../src/pdf/text-layout.js';

export interface RecordedText {
  readonly page: number;
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly within: 'structure' | 'artifact';
}

/** Draws nothing and remembers what would stand where. */
export class RecordingSheet extends DrySheet implements Sheet {
  readonly texts: RecordedText[] = [];
  readonly tags: string[] = [];
  readonly links: { page: number; box: Box; anchor: string }[] = [];
  private page = 0;
  private within: 'structure' | 'artifact' = 'structure';

  override addPage(): void {
    this.page++;
  }

  override open(tag?: string): void {
    this.tags.push(tag ?? '');
  }

  override content(draw?: () => void): void {
    this.within = 'structure';
    draw?.();
  }

  override artifact(_kind?: string, draw?: () => void): void {
    this.within = 'artifact';
    draw?.();
  }

  override text(fragment?: Fragment, x = 0, y = 0): void {
    if (!fragment) return;
    this.texts.push({ page: this.page, text: fragment.text, x, y, width: fragment.width, within: this.within });
  }

  override link(box?: Box, anchor = ''): void {
    if (box) this.links.push({ page: this.page, box, anchor });
  }
}
