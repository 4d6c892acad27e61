/*
 * A list of any length is one value, a JSON text. `jsonb` would refuse texts that hold the sign of number 0, so lists are
 * read as `json`.
 */

/** A list of texts as rows of one column, `value`. */
export const texts = (place: string, name: string): string =>
  `json_array_elements_text(${place}::text::json) AS ${name}(value)`;

export const inTexts = (column: string, place = 1): string =>
  `${column} IN (SELECT value FROM ${texts(`$${place}`, 'listed')})`;

export const inNumbers = (column: string, place = 1): string =>
  `${column} IN (SELECT value::bigint FROM ${texts(`$${place}`, 'listed')})`;

/** A list as rows: what stands in it, `value`, and at which place from 0, `key - 1`. */
export const items = (place: string, name: string): string =>
  `json_array_elements(${place}::text::json) WITH ORDINALITY AS ${name}(value, key)`;

/** A field of a JSON value as a whole number. */
export const whole = (value: string, field: string | number): string => `(${fieldOf(value, field)})::bigint`;

const fieldOf = (value: string, field: string | number): string =>
  `${value} ->> ${typeof field === 'number' ? field : `'${field}'`}`;

/** Whether a column is one of these names, of which there may be none. */
export const isAmong = (column: string, names: readonly string[]): string =>
  names.length === 0 ? 'false' : `${column} IN (${names.map((name) => `'${name}'`).join(', ')})`;

/** Rows as one JSON list; an empty one of none. */
export const asList = (value: string, order = ''): string => `coalesce(json_agg(${value}${order}), '[]'::json)`;

/** At the end of a question within a question: it is asked anew for each row, by its index, and not once for all of them. */
export const ROW_BY_ROW = 'OFFSET 0';
