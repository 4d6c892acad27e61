import { toSvg } from './charts/scene-svg.js';
import type { LotFigure } from './lot-figure.js';

/** A chart as it stands in a page. */
export interface FigureView {
  /** Built by `toSvg`, which escapes every text. */
  readonly svg: string;
  readonly caption: string;
  readonly label: string;
}

export function figureView(figure: LotFigure, label: string, id: string): FigureView {
  return {
    svg: toSvg(figure.scene, { title: label, description: figure.alt, id }),
    caption: figure.caption,
    label,
  };
}
