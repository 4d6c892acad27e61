import type { Scene } from '../base/scene.js';
import type { Flow } from './flow.js';
import { PAGE, TEXT_WIDTH } from './sheet.js';
import { CAPTION, lineHeight, MUTED } from './style.js';
import { drawLines, runLines } from './text.js';
import { breakLines, type Line } from './text-layout.js';

export interface FigureSpec {
  readonly scene: Scene;
  /** Says what a person would see, for those who cannot. */
  readonly alt: string;
  /** Absent where a sentence beside it speaks for several figures. */
  readonly caption?: string;
}

/** So much of a caption stays on the page of its figure; a longer one runs on. */
const CAPTION_BESIDE = 120;

/** A chart at the width of the text, or smaller when its own width or the page's height asks for it. */
export function drawFigure(flow: Flow, { scene, alt, caption }: FigureSpec): void {
  const captionLines = linesOf(caption, TEXT_WIDTH);
  const captionHeight = captionLines.length * lineHeight(CAPTION);
  const tallest = PAGE.bottom - PAGE.top - Math.min(captionHeight, CAPTION_BESIDE) - 12;
  const scale = Math.min(1, TEXT_WIDTH / scene.width, tallest / scene.height);
  const [w, h] = [scene.width * scale, scene.height * scale];
  flow.space(4);
  flow.need(h + Math.min(captionHeight, CAPTION_BESIDE) + 4);
  const box = { x: PAGE.left, y: flow.y, w, h };
  flow.sheet.open('Figure', { alt, box });
  flow.sheet.content(() => flow.sheet.scene(scene, box));
  flow.sheet.close();
  flow.y += h + 2;
  if (captionLines.length > 0) {
    flow.sheet.open('Caption');
    runLines(flow, captionLines, CAPTION, PAGE.left, MUTED);
    flow.sheet.close();
  }
  flow.y += 10;
}

const linesOf = (caption: string | undefined, width: number): Line[] =>
  caption === undefined ? [] : breakLines(caption, CAPTION, width);

/** Between two figures that stand beside each other. */
export const FIGURE_GAP = 12;

/** Charts beside each other, each as wide as it was drawn, with its caption below it. Together they fill the width of the text. */
export function drawFigureRow(flow: Flow, figures: readonly FigureSpec[]): void {
  const asked = figures.reduce((sum, { scene }) => sum + scene.width, 0) + FIGURE_GAP * (figures.length - 1);
  const scale = Math.min(1, TEXT_WIDTH / asked);
  const laid = figures.map(({ scene, caption }) => {
    const [w, h] = [scene.width * scale, scene.height * scale];
    return { w, h, lines: linesOf(caption, w) };
  });
  const captionTop = Math.max(...laid.map(({ h }) => h)) + 2;
  const height = captionTop + Math.max(...laid.map(({ lines }) => lines.length)) * lineHeight(CAPTION);
  flow.space(4);
  flow.need(height + 4);
  let x: number = PAGE.left;
  figures.forEach(({ scene, alt }, index) => {
    const { w, h, lines } = laid[index]!;
    const box = { x, y: flow.y, w, h };
    flow.sheet.open('Figure', { alt, box });
    flow.sheet.content(() => flow.sheet.scene(scene, box));
    flow.sheet.close();
    x += w + FIGURE_GAP;
    if (lines.length === 0) return;
    flow.sheet.open('Caption');
    const top = flow.y + captionTop;
    const placed = lines.map((line, at) => ({ line, x: box.x, y: top + at * lineHeight(CAPTION) }));
    drawLines(flow, placed, CAPTION, MUTED);
    flow.sheet.close();
  });
  flow.y += height + (laid.some(({ lines }) => lines.length > 0) ? 10 : 4);
}
