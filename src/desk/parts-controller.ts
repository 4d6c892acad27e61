import { Controller, Get, Header } from '@nestjs/common';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { PARTS } from '../report/phrases/parts.js';
import { Access, NoCases } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';

/** Every part of pages with invented content, for whoever writes one. */
@Controller('parts')
export class PartsController {
  constructor(private readonly pages: Pages) {}

  @Access('signed in')
  @NoCases()
  @Get()
  @Header(...HTML)
  show(): string {
    return this.pages.render('parts', PAGE_TITLES.parts, PARTS);
  }
}
