import type { TrailFilter } from '../../ledger/trail.js';
import type { TrailQuery } from '../questions.js';

/** Where the name of a thing may stand in an entry. */
const NAMES = ['key', 'subject.key', 'lot', 'build', 'number', 'sha256', 'fileName', 'dossier', 'digest'];

const field = (path: string): string => `("body"::json #>> '{${path.replaceAll('.', ',')}}')`;

/** In the conditions below `?` stands for the one value of each. */
const begins = (start: string): string =>
  `substr(${field('actor')}, 1, length(${start} || ' through ')) = ${start} || ' through '`;

const ends = (end: string): string => `right(${field('actor')}, length(' through ' || ${end})) = ' through ' || ${end}`;

/**
 * An actor is a person or a user of the machine: `person:P-QE`, `local:ana`, `program`; or a person through such a user, who
 * is found by either: `person:P-QE through local:ana`.
 */
const PERSON = `(${[
  `${field('actor')} IN (?, 'person:' || ?, 'local:' || ?)`,
  ...['?', `('person:' || ?)`].map(begins),
  ...['?', `('local:' || ?)`].map(ends),
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
  const conditions = ['"seq" > $1', '"seq" <= $2'];
  const values: (string | number)[] = [stretch.after, stretch.upTo];
  const require = (condition: string, value: string) => {
    values.push(value);
    conditions.push(condition.replaceAll('?', `$${values.length}::text`));
  };
  if (filter.thing) require(THING, filter.thing);
  if (filter.person) require(PERSON, filter.person);
  if (filter.from) require(`${field('at')} >= ?`, `${filter.from}T00:00:00.000Z`);
  if (filter.to) require(`${field('at')} <= ?`, `${filter.to}T23:59:59.999Z`);
  if (filter.act?.startsWith('event:')) require(`${field('event')} = ?`, filter.act.slice('event:'.length));
  else if (filter.act) require(`${field('type')} = ?`, filter.act);
  const direction = order === 'oldest first' ? 'ASC' : 'DESC';
  const sql = `SELECT "seq", "body" FROM "LedgerEntry" WHERE ${conditions.join(' AND ')}
    ORDER BY "seq" ${direction} LIMIT $${values.length + 1}`;
  return { sql, values: [...values, stretch.take] };
}
