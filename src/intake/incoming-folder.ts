import fs from 'node:fs';
import path from 'node:path';
import { pipeline } from 'node:stream/promises';
import { BadInputError, type Problem } from '../base/errors.js';
import { MOST, type Most } from '../base/limits.js';
import { IncomingNames } from './incoming-names.js';
import { hiddenPart, isHidden, tooManyFiles } from './odd-files.js';

type Bytes = AsyncIterable<Uint8Array> | Iterable<Uint8Array>;

/** A folder into which files from elsewhere are written, each only once its name and size are known to be fit. */
export class IncomingFolder {
  /** What is wrong with files that were not written. */
  readonly problems: Problem[] = [];
  /** Hidden files and folders that were passed over. */
  readonly hidden = new Set<string>();
  private readonly names = new IncomingNames();
  /** Files, and folders that are named by themselves: each costs memory, and more when its name is not fit. */
  private named = 0;
  private bytes = 0;

  constructor(
    private readonly root: string,
    private readonly most: Most = MOST,
  ) {}

  /** Takes note of a name, whether or not a file is written. @returns whether it is wanted: fit, and not hidden. */
  accept(name: string): boolean {
    const wrong = this.names.add(name);
    this.problems.push(...wrong);
    this.named += 1;
    if (this.named > this.most.files) throw new BadInputError([tooManyFiles(this.most.files)]);
    if (wrong.length > 0) return false;
    if (!isHidden(name)) return true;
    this.hidden.add(hiddenPart(name));
    return false;
  }

  /**
   * Writes a file, counting the bytes that really come. Of a name that is not fit, and of hidden files, nothing is read.
   * @throws BadInputError when it is too much.
   */
  async write(name: string, bytes: Bytes): Promise<void> {
    if (!this.accept(name)) return;
    if (name.endsWith('/')) this.problems.push(noFileName(name));
    else await this.fill(name, bytes);
  }

  /** The same for a name that was accepted. */
  async fill(name: string, bytes: Bytes): Promise<void> {
    const target = path.join(this.root, name);
    fs.mkdirSync(path.dirname(target), { recursive: true, mode: 0o700 });
    await pipeline(this.counted(name, bytes), fs.createWriteStream(target, { flags: 'wx', mode: 0o600 }));
  }

  /** @throws BadInputError with all that is wrong, if anything is. */
  refuseProblems(): void {
    if (this.problems.length > 0) throw new BadInputError(this.problems);
  }

  private async *counted(name: string, bytes: Bytes): AsyncGenerator<Uint8Array> {
    const { uploadFileBytes, uploadBytes } = this.most;
    let ofFile = 0;
    for await (const chunk of bytes) {
      ofFile += chunk.length;
      this.bytes += chunk.length;
      if (ofFile > uploadFileBytes) throw new BadInputError([...this.problems, tooLarge(name, uploadFileBytes)]);
      if (this.bytes > uploadBytes) throw new BadInputError([...this.problems, tooMuch(uploadBytes)]);
      yield chunk;
    }
  }
}

const noFileName = (name: string): Problem => ({
  code: 'path',
  file: name,
  found: 'a file with the name of a folder',
  expected: 'a path that ends with the name of the file',
  remedy: 'send the files of the folder, each under its path',
});

export const tooLarge = (file: string, most: number): Problem => ({
  code: 'file-too-large',
  file,
  found: `more than ${most} bytes`,
  expected: `at most ${most} bytes`,
  remedy: 'take the folder in by the command "lotwright intake", which takes larger files',
});

export const tooMuch = (most: number): Problem => ({
  code: 'upload-too-large',
  found: `more than ${most} bytes in all`,
  expected: `at most ${most} bytes`,
  remedy: 'send a lot at a time, or take the folder in by the command "lotwright intake"',
});

export const nothingSent = (): Problem => ({
  code: 'nothing-sent',
  field: 'files',
  found: 'no file',
  expected: 'a folder, files, or one ZIP',
  remedy: 'choose what is to be taken in',
});
