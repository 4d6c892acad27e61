import { Controller, Get } from '@nestjs/common';
import { Store } from '../store/store.js';
import { Access } from './access.js';

/** Whether the service answers and reaches its database: for whatever watches it. It says nothing about the cell. */
@Controller('health')
export class HealthController {
  constructor(private readonly store: Store) {}

  @Access('everyone')
  @Get()
  async health() {
    await this.store.read.ledger.size();
    return { status: 'ok' };
  }
}
