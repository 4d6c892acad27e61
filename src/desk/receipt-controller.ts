import { Controller, Get, Header, Param } from '@nestjs/common';
import { evidenceAddress } from '../report/page-addresses.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { RECEIPT_CERTIFICATE } from '../report/phrases/receipt-certificate.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { ReceiptCertificate, receiptCertificate } from './receipt-certificate.js';

/** So much of a line of a file is shown: one of XML may hold the whole certificate. */
const SHOWN_CHARACTERS = 160;

/** The certificate of what was received: each value, and where in the file it stands. */
@Controller()
export class ReceiptController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get('receipts/:receipt/certificate')
  @Header(...HTML)
  async show(@Param('receipt', NAMED) receipt: string): Promise<string> {
    const certificate = await receiptCertificate(this.store, receipt);
    const supplier = await this.store.read.entries.current('supplier', certificate.supplier);
    return this.pages.render('receipt-certificate', PAGE_TITLES.receiptCertificate(certificate.number, receipt), {
      certificate,
      supplier: supplier?.body.title ?? certificate.supplier,
      file: certificate.file && { name: certificate.file.name, to: evidenceAddress(certificate.file.sha256) },
      says: RECEIPT_CERTIFICATE,
      shown: SHOWN_CHARACTERS,
      numbers: ['value', 'line'],
    });
  }

  @Access('signed in')
  @Operation({
    summary: 'The certificate of a receipt: each value with its unit, uncertainty and place in the file',
    answer: ReceiptCertificate,
  })
  @Get('api/v1/receipts/:receipt/certificate')
  certificate(@Param('receipt', NAMED) receipt: string): Promise<ReceiptCertificate> {
    return receiptCertificate(this.store, receipt);
  }
}
