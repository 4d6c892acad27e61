import { Module } from '@nestjs/common';
import { DiscoveryModule } from '@nestjs/core';
import { HealthController } from './health-controller.js';
import { Pages } from './pages.js';
import { Routes } from './routes.js';

/** The frame of every page. */
@Module({
  imports: [DiscoveryModule],
  controllers: [HealthController],
  providers: [Pages, Routes],
  exports: [Pages, Routes],
})
export class WebModule {}
