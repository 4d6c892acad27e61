import type { Mark, MarkLink, Paint, Scene, TextMark } from '../../base/scene.js';
import { escapeXml } from '../../base/xml-text.js';

export interface SvgText {
  /** Names the picture to a screen reader. */
  readonly title: string;
  /** Says in a sentence or two what the picture shows. */
  readonly description: string;
  /** Makes the ids of title and description unique within the page. */
  readonly id: string;
}

/** Around the middle of a mark that is a link, in scene units: as much as a finger needs on a chart of full width. */
const REACH = 6;

/**
 * The scene as an SVG element. A picture is one thing to a screen reader; with links in it, a group of them. It uses presentation attributes alone: no script, no style attribute, no style element,
 * so that a page with a strict content security policy shows it.
 */
export function toSvg(scene: Scene, { title, description, id }: SvgText): string {
  const safeId = id.replace(/[^A-Za-z0-9_-]/g, '-');
  const root =
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${scene.width} ${scene.height}" role="${linksOf(scene).length > 0 ? 'group' : 'img'}" ` +
    `aria-labelledby="${safeId}-title ${safeId}-desc" font-family="'Source Sans 3', 'DejaVu Sans', sans-serif">`;
  const texts =
    `<title id="${safeId}-title">${escapeXml(title)}</title>` +
    `<desc id="${safeId}-desc">${escapeXml(description)}</desc>`;
  return `${root}${texts}${scene.marks.map(element).join('')}</svg>`;
}

function element(mark: Mark): string {
  switch (mark.kind) {
    case 'rect':
      return `<rect x="${mark.x}" y="${mark.y}" width="${mark.w}" height="${mark.h}"${paint(mark)}/>`;
    case 'line':
      return `<line x1="${mark.x1}" y1="${mark.y1}" x2="${mark.x2}" y2="${mark.y2}"${paint(mark)}/>`;
    case 'circle':
      return linked(`<circle cx="${mark.x}" cy="${mark.y}" r="${mark.r}"${paint(mark)}/>`, mark.link);
    case 'path':
      return linked(`<path d="${mark.d}"${paint(mark)}/>`, mark.link);
    case 'text':
      return textElement(mark);
  }
}

/** Its links, in the order in which the keyboard comes to them. */
export const linksOf = ({ marks }: Scene): MarkLink[] =>
  marks.flatMap((mark) => ((mark.kind === 'circle' || mark.kind === 'path') && mark.link ? [mark.link] : []));

function linked(shape: string, link: MarkLink | undefined): string {
  if (link === undefined) return shape;
  const { to, label, x, y, stops } = link;
  const name = escapeXml(label);
  return (
    `<a href="${escapeXml(to)}" aria-label="${name}"${stops ? '' : ' tabindex="-1"'}>` +
    `<circle cx="${x}" cy="${y}" r="${REACH}" fill="none" pointer-events="all"><title>${name}</title></circle>${shape}</a>`
  );
}

function textElement(mark: TextMark): string {
  const weight = mark.bold ? ' font-weight="700"' : '';
  const anchor = mark.anchor === 'start' ? '' : ` text-anchor="${mark.anchor}"`;
  const turn = mark.turned ? ` transform="rotate(-90 ${mark.x} ${mark.y})"` : '';
  const place = `x="${mark.x}" y="${mark.y}" font-size="${mark.size}" fill="${mark.fill}"`;
  return `<text ${place}${weight}${anchor}${turn}>${escapeXml(mark.text)}</text>`;
}

function paint({ fill, stroke, strokeWidth = 1, dash }: Paint): string {
  const strokes = stroke ? ` stroke="${stroke}" stroke-width="${strokeWidth}"` : '';
  const dashes = dash ? ` stroke-dasharray="${dash[0]} ${dash[1]}"` : '';
  return ` fill="${fill ?? 'none'}"${strokes}${dashes}`;
}
