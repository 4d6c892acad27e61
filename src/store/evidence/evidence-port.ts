import type { FileFault } from '../../ledger/stored-fault.js';

/**
 * Where the bytes of evidence lie, under names: a folder of this machine (`evidence-folder.ts`), or an object store
 * (`objects/evidence-objects.ts`). A further one has to pass the same tests. A name is the SHA-256 of its bytes, with a folder
 * before it where it has one, `personal/ab12…`; one with an ending, `ab12….redacted`, names other bytes.
 */
export interface EvidencePort {
  /** Whether it is beyond a network: then nobody may have to wait for it inside a change. */
  readonly isFar: boolean;
  /** Takes finished files of this machine over, each whole or not at all. They last when it resolves. What is there stays. */
  put(files: readonly FinishedFile[]): Promise<void>;
  /**
   * Takes a file of this machine, hashed just now, for the copy of bytes that are there already, so that nobody fetches them.
   */
  adopt(name: string, file: string): void;
  /** A file of this machine from which the bytes can be read, or undefined when there are none. */
  get(name: string): Promise<string | undefined>;
  /** The same as far as nothing has to be fetched for it. */
  here(name: string): string | undefined;
  /** Bytes under each name that is there; nothing is fetched. */
  sizesOf(names: readonly string[]): Promise<Map<string, number>>;
  /** What is wrong with the bytes where they lie, each read once; undefined when they have this SHA-256. */
  faultOf(name: string, sha256: string): Promise<FileFault | undefined>;
  /** Every name, in order. */
  list(): Promise<string[]>;
  /** Removes bytes for good. Doing it again changes nothing. */
  remove(name: string): Promise<void>;
  /** Lets go of what was fetched of them, unless somebody else reads it too. */
  letGo(name: string): void;
  /** @throws when nothing could be put there now, with why. */
  reach(): Promise<void>;
}

export interface FinishedFile {
  readonly name: string;
  /** Of this machine. Whoever put it looks no more for it there. */
  readonly file: string;
}
