import { BadInputError } from '../base/errors.js';

/**
 * What somebody wants to sign, as commands and addresses name it: `recipe:BP-RECIPE@4`, `result-set:L-1:results/a.csv`,
 * `log finding:1f0c…`, `log finding group:L-1:2e9a…`, `lot file:L-1`. With `#` and a digest it names exactly what the person saw.
 */
export interface Thing {
  readonly kind: string;
  readonly key: string;
  readonly revision: number | null;
  readonly digest: string | null;
}

const FORM = /^([a-z][a-z -]*):(.+?)(?:@(\d{1,9}))?(?:#([0-9a-f]{64}))?$/;

/** @throws BadInputError when the text names no thing. */
export function thingFrom(text: string): Thing {
  const match = FORM.exec(text.trim());
  if (!match) {
    throw new BadInputError([
      {
        code: 'thing',
        field: 'thing',
        found: `"${text}"`,
        expected: 'kind:key, with @revision for documents, such as recipe:BP-RECIPE@4 or "lot file:L-2026-013"',
        remedy: 'copy the name from the list of what waits: lotwright waiting, or the first page',
      },
    ]);
  }
  const [, kind, key, revision, digest] = match;
  return { kind: kind!, key: key!, revision: revision === undefined ? null : Number(revision), digest: digest ?? null };
}

export function thingText({ kind, key, revision, digest }: Thing): string {
  return `${kind}:${key}${revision === null ? '' : `@${revision}`}${digest === null ? '' : `#${digest}`}`;
}

export const isFinding = ({ kind }: Pick<Thing, 'kind'>): boolean => / finding(?: group)?$/.test(kind);
