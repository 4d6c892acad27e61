import { digestOf } from '../../dossier/canonical.js';
import type { LogSource } from '../build-report.js';
import { TextSource } from '../text-source.js';
import { readBetween } from './between-documents.js';
import { DocumentParser } from './document-parser.js';

/** How the first document of a file begins. */
interface Beginning {
  readonly instance: string;
  readonly sequence: number;
}

/**
 * Files of streams that are one recording: the same agent since the same start, read by the same channel map, from one
 * sequence number on. Each recording in the order of its numbers; any other file is alone.
 * @returns places among the sources.
 */
export async function recordingsAmong(sources: readonly LogSource[]): Promise<readonly (readonly number[])[]> {
  const groups = new Map<string, { readonly at: number; readonly sequence: number }[]>();
  for (const [at, { path, map, channels, clockOffsetMs, gapLimitMs }] of sources.entries()) {
    const isAlone = sources.length === 1 || map === null || map.source === 'CSV logger';
    const begins = isAlone ? undefined : await beginningOf(path);
    const key = begins ? digestOf({ map, channels, clockOffsetMs, gapLimitMs, instance: begins.instance }) : `${at}`;
    groups.set(key, [...(groups.get(key) ?? []), { at, sequence: begins?.sequence ?? 0 }]);
  }
  return [...groups.values()].map((files) => files.sort((a, b) => a.sequence - b.sequence).map(({ at }) => at));
}

/** Undefined for what cannot be read: whoever reads all of it says why. */
async function beginningOf(path: string): Promise<Beginning | undefined> {
  const source = await TextSource.open(path);
  let [instance, sequence] = ['', Number.POSITIVE_INFINITY];
  const parser = new DocumentParser('', 1, {
    header: (header) => {
      instance = header.instance;
    },
    wants: () => 'nothing',
    observation: (one) => {
      sequence = Math.min(sequence, one.sequence);
    },
  });
  let isBegun = false;
  try {
    for await (const chunk of source.chunks()) {
      let bytes = Buffer.from(chunk);
      if (!isBegun) {
        const { end, odd } = readBetween(bytes, false);
        if (odd !== null) return undefined;
        isBegun = end < bytes.length;
        bytes = bytes.subarray(end);
      }
      if (isBegun) parser.write(bytes);
      if (parser.hasEnded) return Number.isFinite(sequence) ? { instance, sequence } : undefined;
    }
    return undefined;
  } catch {
    return undefined;
  } finally {
    await source.close();
  }
}
