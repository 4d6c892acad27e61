import { Module } from '@nestjs/common';
import { LotPreparer } from './lot-preparer.js';

/** Lot folders to fill in. */
@Module({ providers: [LotPreparer], exports: [LotPreparer] })
export class PrepareModule {}
