/** What the record says of itself on every page, in its metadata and in its file ID. */
export interface RecordIdentity {
  /** Number of the record, such as `LR-2031-004`. */
  readonly number: string;
  readonly revision: string;
  readonly title: string;
  readonly subject: string;
  /** The organisation that issues the record. */
  readonly author: string;
  /** SHA-256 of the dossier, 64 lower-case hexadecimal digits: the identity of the content. */
  readonly digest: string;
  /** Time of printing; the only time that appears in the file. */
  readonly printedAt: Date;
  /** Name and version of the program that made the record. */
  readonly program: string;
  readonly draft: boolean;
}

/** The first twelve digits: enough to compare by eye. The full digest stands on page 1 and in the metadata. */
export function shortDigest(digest: string): string {
  return digest.slice(0, 12);
}
