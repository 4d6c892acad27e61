import { Module } from '@nestjs/common';
import { DesignFiles } from './design-files.js';

/** The design history of a family: its gaps, and what leads from need to test. */
@Module({ providers: [DesignFiles], exports: [DesignFiles] })
export class DesignFileModule {}
