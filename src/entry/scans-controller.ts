import { Controller, Get, Header, Param, type StreamableFile } from '@nestjs/common';
import { Actor } from '../people/actor.js';
import { Drafts } from '../people/drafts.js';
import { Access } from '../web/access.js';
import { NAMED } from '../web/input.js';
import { SHOWN_POLICY, showInPlace } from '../web/shown-file.js';

/** Files that a person chose in a form which is not stored yet, for nobody else. */
@Controller('enter')
export class ScansController {
  constructor(
    private readonly drafts: Drafts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get(':kind/:draft/files/:name')
  @Header('Content-Security-Policy', SHOWN_POLICY)
  @Header('X-Content-Type-Options', 'nosniff')
  async show(
    @Param('kind', NAMED) _kind: string,
    @Param('draft', NAMED) draft: string,
    @Param('name', NAMED) name: string,
  ): Promise<StreamableFile> {
    const { bytes } = await this.drafts.file(this.actor.person, draft, name);
    return showInPlace(name, bytes, bytes, bytes.length);
  }
}
