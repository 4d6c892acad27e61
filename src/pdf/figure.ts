import type { Scene } from '../base/scene.js';
import type { Flow } from './flow.js';
import { PAGE, TEXT_WIDTH } from './sheet.js';
import { CAPTION, lineHeight, MUTED } from './style.js';
import { runLines } from './text.js';
import { breakLines } from './text-layout.js';

export interface FigureSpec {
  readonly scene: Scene;
  /** Says what a person would see, for those who cannot. */
  readonly alt: string;
  readonly caption: string;
}

/** So much of a caption stays on the page of its figure; a longer one runs on. */
const CAPTION_BESIDE = 120;

/** A chart at the width of the text, or smaller when its own width or the page's height asks for it. */
export function drawFigure(flow: Flow, { scene, alt, caption }: FigureSpec): void {
  const captionLines = breakLines(caption, CAPTION, TEXT_WIDTH);
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
  flow.sheet.open('Caption');
  runLines(flow, captionLines, CAPTION, PAGE.left, MUTED);
  flow.sheet.close();
  flow.y += 10;
}
