/** Width of a text in the units of the scene: one em is `sizePt`. The caller brings the font (`record/pdf/fonts.ts`). */
export type TextMetric = (text: string, sizePt: number, bold: boolean) => number;

export interface Paint {
  readonly fill?: string;
  readonly stroke?: string;
  readonly strokeWidth?: number;
  /** Lengths of stroke and gap. */
  readonly dash?: readonly [number, number];
}

/** A mark that leads somewhere where the drawing is part of a page; elsewhere it is a mark like others. */
export interface MarkLink {
  readonly to: string;
  /** What it leads to, for who does not see the drawing. */
  readonly label: string;
  /** Middle of the mark. */
  readonly x: number;
  readonly y: number;
  /** The keyboard stops at it. */
  readonly stops: boolean;
}

/** `x` and `y` are the left end, middle or right end of the base line. `turned` reads from bottom to top. */
export interface TextMark {
  readonly kind: 'text';
  readonly x: number;
  readonly y: number;
  readonly text: string;
  readonly size: number;
  readonly bold: boolean;
  readonly fill: string;
  readonly anchor: 'start' | 'middle' | 'end';
  readonly turned: boolean;
}

export type Mark =
  | ({ readonly kind: 'rect'; readonly x: number; readonly y: number; readonly w: number; readonly h: number } & Paint)
  | ({
      readonly kind: 'line';
      readonly x1: number;
      readonly y1: number;
      readonly x2: number;
      readonly y2: number;
    } & Paint)
  | ({ readonly kind: 'path'; readonly d: string; readonly link?: MarkLink } & Paint)
  | ({
      readonly kind: 'circle';
      readonly x: number;
      readonly y: number;
      readonly r: number;
      readonly link?: MarkLink;
    } & Paint)
  | TextMark;

/** A finished drawing. Lengths are points at full width; y counts downwards from the top. */
export interface Scene {
  readonly width: number;
  readonly height: number;
  readonly marks: readonly Mark[];
}

export interface Point {
  readonly x: number;
  readonly y: number;
}

export type TextOptions = Partial<Omit<TextMark, 'kind' | 'x' | 'y' | 'text'>>;

/** Collects marks. Coordinates are rounded to hundredths, so that the same data draw the same bytes everywhere. */
export class SceneBuilder {
  private readonly marks: Mark[] = [];

  /** @param width of the whole drawing. */
  constructor(
    readonly metric: TextMetric,
    readonly width: number = CHART_WIDTH,
  ) {}

  rect(x: number, y: number, w: number, h: number, paint: Paint): void {
    this.marks.push({ kind: 'rect', x: round(x), y: round(y), w: round(w), h: round(h), ...paint });
  }

  line(x1: number, y1: number, x2: number, y2: number, paint: Paint): void {
    this.marks.push({ kind: 'line', x1: round(x1), y1: round(y1), x2: round(x2), y2: round(y2), ...paint });
  }

  circle(x: number, y: number, r: number, paint: Paint, link?: MarkLink): void {
    this.marks.push({ kind: 'circle', x: round(x), y: round(y), r: round(r), ...paint, ...linked(link) });
  }

  polyline(points: readonly Point[], paint: Paint): void {
    if (points.length > 1) this.marks.push({ kind: 'path', d: openPath(points), ...paint });
  }

  polygon(points: readonly Point[], paint: Paint, link?: MarkLink): void {
    if (points.length > 2) this.marks.push({ kind: 'path', d: `${openPath(points)}Z`, ...paint, ...linked(link) });
  }

  /** A cubic from `from` to `to` that leaves and arrives horizontally. */
  sweep(from: Point, to: Point, paint: Paint): void {
    const middle = round((from.x + to.x) / 2);
    const d =
      `M${round(from.x)} ${round(from.y)}` +
      `C${middle} ${round(from.y)} ${middle} ${round(to.y)} ${round(to.x)} ${round(to.y)}`;
    this.marks.push({ kind: 'path', d, ...paint });
  }

  text(x: number, y: number, text: string, options: TextOptions = {}): void {
    const { size = TEXT_SIZE, bold = false, fill = INK, anchor = 'start', turned = false } = options;
    this.marks.push({ kind: 'text', x: round(x), y: round(y), text, size, bold, fill, anchor, turned });
  }

  textWidth(text: string, size = TEXT_SIZE, bold = false): number {
    return this.metric(text, size, bold);
  }

  finish(width: number, height: number): Scene {
    return { width: round(width), height: round(height), marks: this.marks };
  }
}

/** Room of a chart beside another one, in points. */
export interface ChartSize {
  readonly width: number;
  readonly plotHeight: number;
}

/** Full width of a chart: the text column of the record's page. */
export const CHART_WIDTH = 487;
export const TEXT_SIZE = 8;
export const INK = '#1d2630';

const linked = (link: MarkLink | undefined): { readonly link?: MarkLink } =>
  link === undefined ? {} : { link: { ...link, x: round(link.x), y: round(link.y) } };

function openPath(points: readonly Point[]): string {
  return `M${points.map((point) => `${round(point.x)} ${round(point.y)}`).join('L')}`;
}

function round(value: number): number {
  if (!Number.isFinite(value)) throw new RangeError(`a chart was asked to draw at ${value}`);
  const rounded = Math.round(value * 100) / 100;
  return rounded === 0 ? 0 : rounded;
}
