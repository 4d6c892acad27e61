import type { TrailFilter } from '../../ledger/trail.js';
import type { TrailQuery } from '../questions.js';

/** Where the name of a thing may stand in an entry. */
const NAMES = ['key', 'subject.key', 'lot', 'build', 'number', 'sha256', 'fileName', 'dossier', 'digest'];

const field = (path: string): string => `json_extract("body", '$.${path}')`;

/**
 * An actor is a person or a user of the machine: `person:P-QE`, `local:ana`, `program`; or a person through such a user, who
 * is found by either: `person:P-QE through local:ana`.
 */
const PERSON = `(${[
  `${field('actor')} IN (?, 'person:' || ?, 'local:' || ?)`,
  ...['?', `'person:' || ?`].map(
    (start) => `substr(${field('actor')}, 1, length(${start} || ' through ')) = ${start} || ' through '`,
  ),
  ...['?', `'local:' || ?`].map(
    (end) => `substr(${field('actor')}, -length(' through ' || ${end})) = ' through ' || ${end}`,
  ),
  `${field('person')} = ?`,
  `(${field('subject.kind')} = 'account' AND ${field('subject.key')} = ?)`,
].join(' OR ')})`;

/** Statements are filed under the first thing that they cover; the others are found by what they are. */
const SIGNED = `"seq" IN (
  SELECT g."ledgerSeq" FROM "SignatureSubject" s JOIN "Signature" g ON g."digest" = s."signature"
  WHERE s."key" = ? OR (length(?) >= 8 AND s."digest" >= lower(?) AND s."digest" < lower(?) || 'g'))`;

/** Whole names of whatever case; of a hash its first digits will do. */
const THING = `(lower(?) IN (${NAMES.map((name) => `lower(${field(name)})`).join(', ')})
  OR (length(?) >= 8 AND lower(?) IN (${['sha256', 'digest'].map((name) => `substr(${field(name)}, 1, length(?))`).join(', ')}))
  OR ${SIGNED})`;

/** Entries of a stretch of the ledger that a filter lets through. Bounds: above `after`, up to `upTo`. */
export function trailQuery(
  filter: TrailFilter,
  stretch: { readonly after: number; readonly upTo: number; readonly take: number },
  order: 'oldest first' | 'newest first',
): TrailQuery {
  const conditions = ['"seq" > ?', '"seq" <= ?'];
  const values: (string | number)[] = [stretch.after, stretch.upTo];
  /** The same value for every place that a condition leaves open. */
  const require = (condition: string, value: string) => {
    conditions.push(condition);
    for (const _place of condition.matchAll(/\?/g)) values.push(value);
  };
  if (filter.thing) require(THING, filter.thing);
  if (filter.person) require(PERSON, filter.person);
  if (filter.from) require(`${field('at')} >= ?`, `${filter.from}T00:00:00.000Z`);
  if (filter.to) require(`${field('at')} <= ?`, `${filter.to}T23:59:59.999Z`);
  if (filter.act?.startsWith('event:')) require(`${field('event')} = ?`, filter.act.slice('event:'.length));
  else if (filter.act) require(`${field('type')} = ?`, filter.act);
  const direction = order === 'oldest first' ? 'ASC' : 'DESC';
  const sql = `SELECT "seq", "body" FROM "LedgerEntry" WHERE ${conditions.join(' AND ')}
    ORDER BY "seq" ${direction} LIMIT ?`;
  return { sql, values: [...values, stretch.take] };
}
