import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { FollowsFromRecords } from '../web/unchanged.js';
import { CertificatesPage } from './certificates-page.js';

const CertificatesQuery = z.strictObject({
  material: NAMED.schema.describe('material as receipts name it'),
  property: NAMED.schema.describe('property as certificates name it'),
});
type CertificatesQuery = z.infer<typeof CertificatesQuery>;
const CertificatesPageQuery = CertificatesQuery.partial();
type CertificatesPageQuery = z.infer<typeof CertificatesPageQuery>;

const CertificatesAnswer = z.strictObject({
  ...{ material: z.string(), property: z.string(), ucum: z.string() },
  otherUnits: z.array(z.string()).describe('receipts whose unit measures something else'),
  compared: z.int().describe('suppliers that were tried for a drift'),
  suppliers: z.array(
    z.strictObject({
      supplier: z.string(),
      points: z.array(
        z.strictObject({
          ...{ receipt: z.string(), receivedAt: z.string(), heat: z.string(), stated: z.string() },
          ...{ statedUcum: z.string(), value: z.number(), isBound: z.boolean() },
        }),
      ),
      mean: z.number().nullable(),
      sd: z.number().nullable(),
      drift: z
        .strictObject({ p: z.number(), perDelivery: z.number(), isSeen: z.boolean() })
        .nullable()
        .describe('rank test of Mann and Kendall; null of too few'),
    }),
  ),
});

/** Values of certificates over deliveries, by supplier. */
@Controller()
export class CertificatesController {
  constructor(
    private readonly pages: Pages,
    private readonly certificates: CertificatesPage,
  ) {}

  @Access('signed in')
  @Get('certificates')
  @Header(...HTML)
  async show(@Query({ schema: CertificatesPageQuery }) { material, property }: CertificatesPageQuery): Promise<string> {
    if (material === undefined || property === undefined) {
      const materials = await this.certificates.materials();
      return this.pages.render('certificates', PAGE_TITLES.certificates, { materials });
    }
    const view = await this.certificates.view(material, property);
    return this.pages.render('certificate-trend', PAGE_TITLES.certificatesOf(property, material), view);
  }

  @Access('signed in')
  @Operation({ summary: 'What certificates say of a material, by supplier', answer: CertificatesAnswer })
  @FollowsFromRecords()
  @Get('api/v1/certificates')
  report(@Query({ schema: CertificatesQuery }) { material, property }: CertificatesQuery) {
    return this.certificates.trend(material, property);
  }
}
