import type { Sheet } from './sheet.js';

/** Draws nothing: the layout runs over it to learn where everything will stand. */
export class DrySheet implements Sheet {
  addPage(): void {}
  open(): void {}
  close(): void {}
  content(): void {}
  artifact(): void {}
  text(): void {}
  rect(): void {}
  line(): void {}
  watermark(): void {}
  scene(): void {}
  link(): void {}
  destination(): void {}
  bookmark(): void {}
  attach(): void {}
}
