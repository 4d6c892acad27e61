import { Module } from '@nestjs/common';
import { WebModule } from '../web/web.module.js';
import { TrendModule } from './trend.module.js';
import { TrendController } from './trend-controller.js';

/** Pages of the trend, apart from it: the command starts without pages and charts. */
@Module({ imports: [WebModule, TrendModule], controllers: [TrendController] })
export class TrendPagesModule {}
