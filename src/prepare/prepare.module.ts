import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { LotPreparer } from './lot-preparer.js';

/** Lot folders to fill in. */
@Module({ imports: [LotsModule], providers: [LotPreparer], exports: [LotPreparer] })
export class PrepareModule {}
