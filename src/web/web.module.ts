import { Module } from '@nestjs/common';
import { HealthController } from './health-controller.js';
import { Pages } from './pages.js';

/** The frame of every page. */
@Module({ controllers: [HealthController], providers: [Pages], exports: [Pages] })
export class WebModule {}
