import { Module } from '@nestjs/common';
import { APP_PIPE, DiscoveryModule } from '@nestjs/core';
import { HealthController } from './health-controller.js';
import { InputPipe } from './input.js';
import { Pages } from './pages.js';
import { Routes } from './routes.js';

/** The frame of every page, and the check of every input. */
@Module({
  imports: [DiscoveryModule],
  controllers: [HealthController],
  providers: [Pages, Routes, { provide: APP_PIPE, useClass: InputPipe }],
  exports: [Pages, Routes],
})
export class WebModule {}
