import { anchorId } from './anchors.js';
import { linksOf, toSvg } from './charts/scene-svg.js';
import type { LotFigure } from './lot-figure.js';

/** A chart as it stands in a page. */
export interface FigureView {
  /** Built by `toSvg`, which escapes every text. */
  readonly svg: string;
  readonly caption: string;
  readonly label: string;
  /** Where to go on behind its links; empty where the keyboard stops at few of them or none. */
  readonly behind: string;
}

/** So many links of a chart are passed one by one. */
const MOST_STOPS = 3;

export function figureView(figure: LotFigure, label: string, id: string): FigureView {
  return {
    svg: toSvg(figure.scene, { title: label, description: figure.alt, id }),
    caption: figure.caption,
    label,
    behind: linksOf(figure.scene).filter(({ stops }) => stops).length > MOST_STOPS ? `behind-${anchorId(id)}` : '',
  };
}
