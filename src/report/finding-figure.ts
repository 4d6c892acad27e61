import type { LogFinding, LogPart, Outline } from '../dossier/schema.js';
import { tradeUnit } from '../dossier/unit-text.js';
import { textMetric } from '../pdf/shaping.js';
import { aroundFinding } from './charts/around-finding.js';
import type { OutlineStretch } from './charts/channel-plot.js';
import { numberText } from './charts/frame.js';
import type { LotFigure } from './lot-figure.js';
import { LOG_FIGURES } from './phrases/figures/logs.js';
import { findingText } from './phrases/log-finding.js';

const HOUR_MS = 3_600_000;
/** Shown before and behind it: so many times its length, but at least so many stretches of the outline. */
const LENGTHS_BESIDE = 2;
const LEAST_BESIDE = 12;

/**
 * What the log showed around a finding.
 * @param part of its build.
 * @param closedAt what hours count from: when the chamber was closed.
 */
export function findingFigure(finding: LogFinding, part: LogPart, closedAt: string): LotFigure {
  const outline = part.outlines.find(({ channel }) => channel === finding.channel);
  const closedMs = Date.parse(closedAt);
  const hours = (ms: number): number => (ms - closedMs) / HOUR_MS;
  const shown = outline === undefined ? [] : around(finding, outline, hours);
  const { startedAt, endedAt, facts, ucum, level } = finding;
  const [fromH, toH] = [hours(Date.parse(startedAt ?? closedAt)), hours(Date.parse(endedAt ?? startedAt ?? closedAt))];
  const says =
    facts.limit === undefined ? undefined : LOG_FIGURES.limitOf(level, numberText(facts.limit), tradeUnit(ucum ?? ''));
  const scene = aroundFinding(
    {
      ...{ outline: shown, fromH, toH, level },
      ...(says === undefined ? {} : { limit: { at: facts.limit!, text: `${finding.channel}, ${says}` } }),
      begins: shown.length === 0 ? LOG_FIGURES.nothingAround : LOG_FIGURES.hour(shown[0]!.fromH),
      ends: shown.length === 0 ? '' : LOG_FIGURES.hour(shown.at(-1)!.toH),
    },
    textMetric,
  );
  const alt = LOG_FIGURES.around(findingText(finding), LOG_FIGURES.span(fromH, toH), shown.length > 0);
  return { scene, alt, caption: LOG_FIGURES.aroundCaption };
}

function around(
  { startedAt, endedAt }: LogFinding,
  { startMs, bucketMs, min, max }: Outline,
  hours: (ms: number) => number,
): OutlineStretch[] {
  if (startedAt === null) return [];
  const [from, to] = [Date.parse(startedAt), Date.parse(endedAt ?? startedAt)];
  const beside = Math.max(LENGTHS_BESIDE * (to - from), LEAST_BESIDE * bucketMs);
  const first = Math.max(0, Math.floor((from - beside - startMs) / bucketMs));
  const last = Math.min(min.length - 1, Math.ceil((to + beside - startMs) / bucketMs));
  const found: OutlineStretch[] = [];
  for (let bucket = first; bucket <= last; bucket++) {
    const [least, most] = [min[bucket] ?? null, max[bucket] ?? null];
    if (least === null || most === null) continue;
    const at = startMs + bucket * bucketMs;
    found.push({ fromH: hours(at), toH: hours(at + bucketMs), min: least, max: most });
  }
  return found;
}
