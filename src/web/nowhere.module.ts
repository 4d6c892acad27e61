import { Module } from '@nestjs/common';
import { NowhereController } from './nowhere-controller.js';

/** The last of all modules: its route takes what is left. */
@Module({ controllers: [NowhereController] })
export class NowhereModule {}
