/** Versions of MTConnect whose streams are read. 1.0 has another root, and what comes after is not known yet. */
export const STREAM_VERSIONS = [
  ...['1.1', '1.2', '1.3', '1.4', '1.5', '1.6', '1.7', '1.8'],
  ...['2.0', '2.1', '2.2', '2.3', '2.4', '2.5', '2.6', '2.7'],
] as const;

/**
 * What the header of a document says of its version, where that is another one than the version of its namespace, by which it is
 * read. A header may name the version of the agent itself, with more numbers behind the second.
 */
export function otherVersion(said: string, version: string): string | null {
  const [major, minor] = said.split('.');
  return said === '' || `${major}.${minor}` === version ? null : said;
}
