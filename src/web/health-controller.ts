import { statfs } from 'node:fs/promises';
import { setTimeout as sleep } from 'node:timers/promises';
import { Controller, Get, HttpStatus, Res } from '@nestjs/common';
import type { Response } from 'express';
import { NOT_READY } from '../report/phrases/metrics.js';
import { Store } from '../store/store.js';
import { Access } from './access.js';
import { Standing } from './standing.js';
import { Traffic } from './traffic.js';

/** With less room than this a record or an upload may find none. */
const LEAST_FREE_BYTES = 256 * 1024 * 1024;

/** An object store is asked no more often, whoever asks here. */
const REACHED_MS = 5000;
const LATEST_MS = 3000;

/** For whatever watches the service or sends it requests. Neither answer says anything about the cell. */
@Controller()
export class HealthController {
  private reached: { readonly atMs: number; readonly answer: Promise<boolean> } | undefined;

  constructor(
    private readonly store: Store,
    private readonly traffic: Traffic,
    private readonly standing: Standing,
  ) {}

  /** Whether the service answers and reaches its database. */
  @Access('everyone')
  @Get('health')
  async health() {
    await this.store.read.ledger.size();
    return { status: 'ok' };
  }

  /** Whether more requests may be sent to it: it is not about to end, and what it stores finds its place. */
  @Access('everyone')
  @Get('ready')
  async ready(@Res({ passthrough: true }) response: Response) {
    const why = await this.whyNotReady();
    if (why.length === 0) return { status: 'ready' };
    response.status(HttpStatus.SERVICE_UNAVAILABLE);
    return { status: 'unready', why };
  }

  private async whyNotReady(): Promise<string[]> {
    const { evidence } = this.store.folder;
    const reasons = await Promise.all([
      this.traffic.isDraining ? NOT_READY.ending : undefined,
      // The newest that the database tells: a newer program changed it, or the clock is wrong.
      this.standing.look().catch(() => NOT_READY.database),
      this.reachesEvidence().then((reaches) => (reaches ? undefined : NOT_READY.evidence)),
      freeBytes(evidence).then((free) => (free < LEAST_FREE_BYTES ? NOT_READY.full : undefined)),
    ]);
    return reasons.filter((reason) => reason !== undefined);
  }

  private reachesEvidence(): Promise<boolean> {
    const { evidence } = this.store;
    const atMs = performance.now();
    if (evidence.isFar && this.reached && atMs - this.reached.atMs < REACHED_MS) return this.reached.answer;
    const asked = evidence.reach().then(
      () => true,
      () => false,
    );
    const answer = Promise.race([asked, sleep(LATEST_MS, false, { ref: false })]);
    this.reached = { atMs, answer };
    return answer;
  }
}

/** Where it cannot be asked, nothing says that there is too little. */
async function freeBytes(folder: string): Promise<number> {
  try {
    const { bavail, bsize } = await statfs(folder);
    return bavail * bsize;
  } catch {
    return Number.POSITIVE_INFINITY;
  }
}
