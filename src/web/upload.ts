import { createParamDecorator, type ExecutionContext } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { Request, Response } from 'express';
import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { MultipartReader, type Part } from './multipart.js';

/** What a route takes that takes files. */
interface UploadLimits {
  /** Bytes of the body at most. */
  readonly mostBytes: number;
  /** Fields beside the files at most, where it is no plain upload. */
  readonly mostFields?: number;
  /** The one field that may come after the files: the button that sent the form. */
  readonly button?: string;
}

/** At a handler that takes files: its body is multipart/form-data, with all fields before the first file. */
export const TakesFiles = Reflector.createDecorator<
  UploadLimits & {
    /** Name of the fields that carry files, as the programming interface tells it. */
    readonly field: string;
  }
>();

/** A file of an upload as it comes. */
export interface UploadedFile {
  /** The field that it was chosen in. */
  readonly field: string;
  /** Path as it was sent: nothing about it was checked. */
  readonly name: string;
  readonly bytes: AsyncIterable<Buffer>;
}

/** Files as they come, and whether their sender is still there. */
export type Sent = Pick<Upload, 'gone'> & { files(): AsyncIterable<UploadedFile> };

/** What is still read after the answer was given: who gets an answer before it sent all may not see it otherwise. */
const READ_ON_BYTES = 64 << 20;

/** The body of a request with files, of which the fields are read first: the files only once somebody may send them. */
export class Upload {
  readonly fields: Readonly<Record<string, string>> = {};
  private readonly leaving = new AbortController();
  /** Aborted when the sender is gone before they were answered, or the service stops. */
  readonly gone = this.leaving.signal;
  /** The button that came after the files; read when they are. */
  pressed: string | undefined;
  private first: Part | undefined;
  private received = 0;

  private constructor(
    private readonly button: string | undefined,
    private readonly reader: MultipartReader,
    private readonly source: AsyncIterator<Buffer, unknown>,
  ) {}

  /**
   * Reads up to the first file.
   * @throws BadInputError for a body that is none, and for one that says that it is too long.
   */
  static async begin(
    request: Request,
    response: Response,
    { mostBytes, mostFields = MOST.uploadFields, button }: UploadLimits,
  ): Promise<Upload> {
    const boundary = /;\s*boundary=(?:"([^"]{1,200})"|([^\s;"]{1,200}))/i.exec(request.headers['content-type'] ?? '');
    const source = request[Symbol.asyncIterator]() as AsyncIterator<Buffer, unknown>;
    const counted = {
      next: async () => {
        const step = await source.next().catch(refuseCutOff);
        upload.received += step.done ? 0 : step.value.length;
        if (upload.received > mostBytes) throw tooLong(mostBytes);
        return step;
      },
    };
    const upload: Upload = new Upload(
      button,
      new MultipartReader(counted, boundary?.[1] ?? boundary?.[2] ?? ''),
      source,
    );
    response.once('finish', () => void upload.readOn(request));
    response.once('close', () => response.writableFinished || upload.leaving.abort());
    if (Number(request.headers['content-length'] ?? 0) > mostBytes) throw tooLong(mostBytes);
    await upload.readFields(mostFields);
    response.locals.upload = upload;
    return upload;
  }

  private async readFields(most: number): Promise<void> {
    const fields = this.fields as Record<string, string>;
    let length = 0;
    for (let count = 0; ; count += 1) {
      const part = await this.reader.next();
      if (part?.fileName !== undefined) this.first = part;
      if (part === undefined || part.fileName !== undefined) return;
      if (count >= most || Object.hasOwn(fields, part.name)) throw tooManyFields(most);
      const value = await textOf(part);
      length += part.name.length + value.length;
      if (length > MOST.bodyBytes) throw tooLong(MOST.bodyBytes);
      Object.defineProperty(fields, part.name, { value, enumerable: true });
    }
  }

  /** The files in the order in which they come. A file that is not read is passed over. */
  async *files(): AsyncGenerator<UploadedFile> {
    for (let part = this.first; part !== undefined; part = await this.reader.next()) {
      if (part.fileName === undefined) {
        if (part.name !== this.button) throw lateField(part.name);
        this.pressed = await textOf(part);
        continue;
      }
      if (part.fileName !== '') yield { field: part.name, name: part.fileName, bytes: part.bytes };
      // So a browser sends the choice that was left empty.
      else for await (const block of part.bytes) if (block.length > 0) throw noName();
    }
  }

  /** Reads what nobody wanted and throws it away, up to a limit. */
  private async readOn(request: Request): Promise<void> {
    try {
      for (let bytes = 0; bytes <= READ_ON_BYTES; ) {
        const { done, value } = await this.source.next();
        if (done) return;
        bytes += value.length;
      }
      request.socket.destroy();
    } catch {
      // The connection was cut, and nobody waits for the rest.
    }
  }
}

async function textOf({ bytes, name }: Part): Promise<string> {
  const blocks: Buffer[] = [];
  let length = 0;
  for await (const block of bytes) {
    blocks.push(block);
    length += block.length;
    if (length > MOST.uploadFieldBytes) throw longField(name);
  }
  return Buffer.concat(blocks).toString('utf8');
}

/** The upload whose files are being sent, once its sender was let in and as long as nobody answered. */
export const uploadOf = ({ locals, writableEnded }: Response): Upload | undefined =>
  locals.upload instanceof Upload && !writableEnded ? locals.upload : undefined;

/** The upload of this request, for a handler that takes files. */
export const Uploaded = createParamDecorator((_: unknown, context: ExecutionContext): Upload => {
  const upload = uploadOf(context.switchToHttp().getResponse<Response>());
  if (upload) return upload;
  throw new BadInputError([
    {
      code: 'multipart',
      found: 'a body of another type',
      expected: 'files, sent as multipart/form-data',
      remedy: 'send the form of the page, or a body as the page /api describes it',
    },
  ]);
});

const bad = (code: string, field: string | undefined, found: string, expected: string, remedy: string) =>
  new BadInputError([{ code, ...(field === undefined ? {} : { field }), found, expected, remedy }]);

const BY_COMMAND = 'take the folder in by the command "lotwright intake"';

/** Nobody sees it but the log: there is nobody to answer. */
const refuseCutOff = (): never => {
  throw bad('cut-off', undefined, 'a connection that ended early', 'all that was announced', 'send it again');
};

const tooLong = (most: number) =>
  bad(
    'upload-too-large',
    undefined,
    `more than ${most} bytes in all`,
    `at most ${most} bytes`,
    `send a part at a time, or ${BY_COMMAND}`,
  );
const tooManyFields = (most: number) =>
  bad(
    'multipart',
    undefined,
    'a field twice, or too many of them',
    `at most ${most} fields, each once`,
    'send the form of the page',
  );
const longField = (name: string) =>
  bad(
    'multipart',
    name,
    `more than ${MOST.uploadFieldBytes} bytes`,
    `at most ${MOST.uploadFieldBytes} bytes`,
    'send the form of the page',
  );
const lateField = (name: string) =>
  bad('multipart', name, 'a field after a file', 'all fields before the first file', 'send the fields first');
const noName = () =>
  bad('path', undefined, 'a file without a name', 'a path that leads into this folder', 'give the file a name');
