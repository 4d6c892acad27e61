/** The few parts of two libraries that backups and uploads use; neither ships types. */
declare module 'yazl' {
  interface EntryOptions {
    readonly compress: boolean;
    readonly mtime: Date;
    readonly mode: number;
  }

  export class ZipFile {
    readonly outputStream: NodeJS.ReadableStream;
    addReadStreamLazy(
      name: string,
      options: EntryOptions,
      open: (give: (error: Error | null, stream?: NodeJS.ReadableStream) => void) => void,
    ): void;
    addBuffer(bytes: Buffer, name: string, options: EntryOptions): void;
    end(): void;
    on(event: 'error', listener: (error: Error) => void): this;
  }
}

declare module 'yauzl' {
  export interface Entry {
    readonly fileName: string;
    readonly compressedSize: number;
    readonly uncompressedSize: number;
    readonly compressionMethod: number;
    readonly generalPurposeBitFlag: number;
    readonly externalFileAttributes: number;
    readonly crc32: number;
    readonly fileNameRaw: Buffer;
    readonly extraFields: readonly object[];
    isEncrypted(): boolean;
  }

  export interface ZipFile {
    readonly entryCount: number;
    eachEntry(): AsyncIterable<Entry>;
    openReadStreamPromise(entry: Entry): Promise<NodeJS.ReadableStream & AsyncIterable<Buffer>>;
    close(): void;
  }

  interface Options {
    readonly autoClose: boolean;
    /** False leaves names as bytes, and to whoever reads them. */
    readonly decodeStrings?: boolean;
  }

  export function openPromise(file: string, options: Options): Promise<ZipFile>;
  export function fromBufferPromise(bytes: Buffer, options: Options): Promise<ZipFile>;
  export function getFileNameLowLevel(
    generalPurposeBitFlag: number,
    fileNameRaw: Buffer,
    extraFields: readonly object[],
    strictFileNames: boolean,
  ): string;
}
