import { readTimestampUs } from '../timestamp.js';

/** An element with a time, up to its end: an observation, whose content is text. */
const OBSERVATION = /<[A-Za-z_][^<>]*?\stimestamp\s*=\s*(?:"([^"]*)"|'([^']*)')[^<>]*>(?:[^<]*<\/[^<>]*>)?/g;

/**
 * The observations of a piece of an MTConnect document whose time lies within, as they stand in the text. Only for
 * showing: what is evidence is read by the parser.
 */
export function observationsIn(text: string, firstLine: number, fromUs: number, toUs: number) {
  const rows: { line: number; text: string }[] = [];
  let line = firstLine;
  let counted = 0;
  for (const match of text.matchAll(OBSERVATION)) {
    const timeUs = readTimestampUs(match[1] ?? match[2] ?? '');
    if (timeUs === undefined || timeUs < fromUs || timeUs >= toUs) continue;
    for (; counted < match.index; counted += 1) if (text.charCodeAt(counted) === 10) line += 1;
    rows.push({ line, text: match[0].replaceAll(/\s+/g, ' ') });
  }
  return rows;
}
