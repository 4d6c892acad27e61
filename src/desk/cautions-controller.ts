import { Controller, Get, Header } from '@nestjs/common';
import { CAUTIONS_MORE } from '../report/phrases/cautions.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { standardTemplate } from '../report/standard-template.js';
import { Access, NoCases } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';

/** What holds for every page, paper and number, on a page of its own. */
@Controller('cautions')
export class CautionsController {
  constructor(private readonly pages: Pages) {}

  @Access('signed in')
  @NoCases()
  @Get()
  @Header(...HTML)
  show(): string {
    const said = Object.entries(standardTemplate().cautions).map(([name, says]) =>
      name === 'undecided' ? `${says} ${CAUTIONS_MORE.proposed}` : says,
    );
    return this.pages.render('cautions', PAGE_TITLES.cautions, { said });
  }
}
