/**
 * Where the bytes of evidence lie, under names. A folder is the first place for them (`evidence-folder.ts`); a further one
 * has to pass the same tests. A name is a SHA-256, with a folder before it and an ending behind it where it has one:
 * `personal/ab12…`, `ab12….redacted`.
 */
export interface EvidencePort {
  /** Takes finished files of this machine over, each whole or not at all. They last when it resolves. */
  put(files: readonly { readonly name: string; readonly file: string }[]): Promise<void>;
  /** A file of this machine from which the bytes can be read, or undefined when there are none. */
  get(name: string): Promise<string | undefined>;
  /** Every name, in order. */
  list(): Promise<string[]>;
  /** Removes bytes for good. Doing it again changes nothing. */
  remove(name: string): Promise<void>;
}
