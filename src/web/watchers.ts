import { Injectable } from '@nestjs/common';
import type { Request } from 'express';
import { AppError } from '../base/errors.js';
import { METRICS_REFUSED } from '../report/phrases/metrics.js';

const THIS_MACHINE: ReadonlySet<string> = new Set(['127.0.0.1', '::1', '::ffff:127.0.0.1']);

/** Who may read the metrics: this machine, and one more address that whoever starts the service named. */
@Injectable()
export class Watchers {
  private named: string | undefined;
  private hasProxy = false;

  /** @param hasProxy whether the word of a proxy counts for the address of who asks. */
  name(watcher: string | undefined, hasProxy: boolean): void {
    this.named = watcher;
    this.hasProxy = hasProxy;
  }

  /** @throws AppError REFUSED for anybody else. What a proxy passes on that nobody named may come from everywhere. */
  refuseOthers({ ip = '', headers }: Pick<Request, 'ip' | 'headers'>): void {
    const isPassedOn = headers['x-forwarded-for'] !== undefined || headers.forwarded !== undefined;
    const mayCount = this.hasProxy || !isPassedOn;
    if (mayCount && (THIS_MACHINE.has(ip) || ip.replace(/^::ffff:/, '') === this.named)) return;
    throw new AppError('REFUSED', METRICS_REFUSED);
  }
}
