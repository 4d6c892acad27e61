import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { z } from 'zod';
import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { Actor } from '../people/actor.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { TakesFiles, type Upload, Uploaded } from '../web/upload.js';
import { nothingSent } from './incoming-folder.js';
import { demandMayTakeIn } from './may-take-in.js';
import { PageSender } from './page-sender.js';
import type { StagedFolder } from './staged-folder.js';
import { Staging } from './staging.js';
import { Uploads } from './uploads.js';

const whole = (most: number) =>
  z
    .string()
    .regex(/^\d{1,11}$/)
    .transform(Number)
    .pipe(z.int().max(most));

const Nothing = z.strictObject({});
type Nothing = z.infer<typeof Nothing>;
const PieceFields = z.strictObject({
  file: z.string().min(1).max(1000).describe('path of the file in the folder'),
  of: whole(MOST.uploadBytes).describe('bytes of the whole file'),
  from: whole(MOST.uploadBytes).describe('where in the file the piece begins: as many bytes as are here'),
  stamp: z.string().max(100).describe('tells the file apart from another one of its name and length'),
});
type PieceFields = z.infer<typeof PieceFields>;

const StagedAnswer = z.strictObject({
  folder: z.string(),
  files: z.int().describe('files that are here, each whole'),
  bytes: z.int(),
  inPieces: z.array(
    z.strictObject({
      file: z.string(),
      of: z.int(),
      stamp: z.string(),
      received: z.int().describe('bytes that are here: the next piece begins there'),
    }),
  ),
});
type StagedAnswer = z.infer<typeof StagedAnswer>;
const PieceAnswer = z.strictObject({ received: z.int().describe('bytes of the file that are here') });
type PieceAnswer = z.infer<typeof PieceAnswer>;

/** A batch is as long as a piece. Each holds names and boundaries beside the bytes. */
const BATCH = { field: 'files', mostBytes: MOST.pieceBytes + (1 << 20) };
const PIECE = { field: 'piece', mostBytes: MOST.pieceBytes + (1 << 16) };

/** How the page sends a folder where scripts run: in pieces, so that what was cut off goes on where it was. */
@Controller('api/v1/intake/staged')
export class StagedApiController {
  constructor(
    private readonly staging: Staging,
    private readonly uploads: Uploads,
    private readonly store: Store,
    private readonly actor: Actor,
    private readonly sender: PageSender,
  ) {}

  @Access('signed in')
  @Operation({
    summary: 'Begin to send a folder in pieces. Nothing of it is stored before that is asked for on its page',
    answer: StagedAnswer,
  })
  @Post()
  async begin(@Body({ schema: Nothing }) _nothing: Nothing): Promise<StagedAnswer> {
    await demandMayTakeIn(this.store, this.sender.now);
    return answerOf(this.staging.begin(this.actor.person));
  }

  @Access('signed in')
  @Operation({ summary: 'What is here of a folder that is being sent', answer: StagedAnswer })
  @Get(':folder')
  tell(@Param('folder', NAMED) name: string): StagedAnswer {
    return answerOf(this.folder(name));
  }

  @Access('signed in')
  @TakesFiles(BATCH)
  @Operation({ summary: 'Send files of the folder, each whole: all of them are kept, or none', answer: StagedAnswer })
  @Post(':folder/files')
  async files(
    @Param('folder', NAMED) name: string,
    @Body({ schema: Nothing }) _nothing: Nothing,
    @Uploaded() upload: Upload,
  ): Promise<StagedAnswer> {
    const folder = this.folder(name);
    await this.uploads.addTo(folder, upload, this.sender.now);
    return answerOf(folder);
  }

  @Access('signed in')
  @TakesFiles(PIECE)
  @Operation({ summary: 'Send the next piece of a long file of the folder', answer: PieceAnswer })
  @Post(':folder/pieces')
  async piece(
    @Param('folder', NAMED) name: string,
    @Body({ schema: PieceFields }) piece: PieceFields,
    @Uploaded() upload: Upload,
  ): Promise<PieceAnswer> {
    const folder = this.folder(name);
    for await (const { bytes } of upload.files()) {
      const { room, now } = this.staging;
      return { received: await folder.addPiece(piece, bytes, room, now) };
    }
    throw new BadInputError([nothingSent()]);
  }

  private folder(name: string): StagedFolder {
    return this.staging.of(this.actor.person, name);
  }
}

const answerOf = ({ name, count, bytes, inPieces }: StagedFolder): StagedAnswer => ({
  folder: name,
  files: count,
  bytes,
  inPieces: [...inPieces],
});
