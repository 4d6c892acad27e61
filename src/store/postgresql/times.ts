/** Of the moment, not of the beginning of the transaction: that may have waited. */
const iso = (time: string): string => `to_char((${time}) AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"')`;

/** The time of the server, ISO in UTC. */
export const NOW = iso('clock_timestamp()');

/** The same, as many milliseconds later as the value at a place says. */
export const inMs = (place: number): string =>
  iso(`clock_timestamp() + CAST($${place} AS double precision) * interval '1 millisecond'`);
