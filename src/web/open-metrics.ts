/** The media type of the OpenMetrics text format. */
export const OPEN_METRICS = 'application/openmetrics-text; version=1.0.0; charset=utf-8';

type Labels = Readonly<Record<string, string>>;

/** One number of a family: labels, and what stands behind the name of the family. */
export interface Sample {
  readonly labels?: Labels;
  readonly value: number;
}

/** A family of metrics. A counter is named without `_total`, and only grows while the service runs. */
export interface Family {
  readonly name: string;
  readonly type: 'counter' | 'gauge';
  readonly unit?: 'seconds' | 'bytes';
  readonly help: string;
  readonly samples: readonly Sample[];
}

/** Counts of what fell below each of several bounds. */
export interface Histogram {
  readonly name: string;
  readonly type: 'histogram';
  readonly unit: 'seconds';
  readonly help: string;
  readonly bounds: readonly number[];
  /** For each set of labels, the counts between the bounds, with one more behind the last, and the sum of all values. */
  readonly series: readonly { readonly labels: Labels; readonly counts: readonly number[]; readonly sum: number }[];
}

/** All families as one text: what a collector of metrics reads. A family without samples is left out. */
export const openMetricsText = (families: readonly (Family | Histogram)[]): string =>
  `${families.flatMap(linesOf).join('\n')}\n# EOF\n`;

function linesOf(family: Family | Histogram): string[] {
  const { name, type, unit, help } = family;
  const lines = type === 'histogram' ? histogramLines(family) : sampleLines(family);
  if (lines.length === 0) return [];
  const about = [`# TYPE ${name} ${type}`, ...(unit === undefined ? [] : [`# UNIT ${name} ${unit}`])];
  return [...about, `# HELP ${name} ${escaped(help)}`, ...lines];
}

function sampleLines({ name, type, samples }: Family): string[] {
  const full = type === 'counter' ? `${name}_total` : name;
  return samples.map(({ labels = {}, value }) => `${full}${labelText(labels)} ${value}`);
}

function histogramLines({ name, bounds, series }: Histogram): string[] {
  return series.flatMap(({ labels, counts, sum }) => {
    let below = 0;
    const buckets = counts.map((count, at) => {
      below += count;
      const le = bounds[at] === undefined ? '+Inf' : decimal(bounds[at]);
      return `${name}_bucket${labelText({ ...labels, le })} ${below}`;
    });
    return [...buckets, `${name}_count${labelText(labels)} ${below}`, `${name}_sum${labelText(labels)} ${sum}`];
  });
}

/** Bounds are written with a point, as the format asks of them. */
const decimal = (value: number): string => (Number.isInteger(value) ? `${value}.0` : String(value));

function labelText(labels: Labels): string {
  const pairs = Object.entries(labels).map(([name, value]) => `${name}="${escaped(value)}"`);
  return pairs.length === 0 ? '' : `{${pairs.join(',')}}`;
}

const escaped = (text: string): string => text.replaceAll('\\', '\\\\').replaceAll('\n', '\\n').replaceAll('"', '\\"');
