import { Module } from '@nestjs/common';
import { APP_PIPE, DiscoveryModule } from '@nestjs/core';
import { ApiController } from './api-controller.js';
import { HealthController } from './health-controller.js';
import { InputPipe } from './input.js';
import { Jobs } from './jobs.js';
import { JobsController } from './jobs-controller.js';
import { MetricsController } from './metrics-controller.js';
import { Pages } from './pages.js';
import { Routes } from './routes.js';
import { SharedRates } from './shared-rates.js';
import { Standing } from './standing.js';
import { Traffic } from './traffic.js';
import { Watchers } from './watchers.js';

/** The frame of every page, the check of every input, work that takes long, and what says which routes there are. */
@Module({
  imports: [DiscoveryModule],
  controllers: [ApiController, HealthController, JobsController, MetricsController],
  providers: [
    Pages,
    Routes,
    Jobs,
    SharedRates,
    Traffic,
    Standing,
    Watchers,
    { provide: APP_PIPE, useClass: InputPipe },
  ],
  exports: [Pages, Routes, Jobs, SharedRates, Traffic, Standing, Watchers],
})
export class WebModule {}
