import { Module } from '@nestjs/common';
import { WebModule } from '../web/web.module.js';
import { CalculationsController } from './calculations-controller.js';

/** One calculation at a time. */
@Module({ imports: [WebModule], controllers: [CalculationsController] })
export class CalculatorModule {}
