import { performance } from 'node:perf_hooks';
import { Controller, Get, Header, Req } from '@nestjs/common';
import type { Request } from 'express';
import { programName } from '../base/settings.js';
import { workerLoads } from '../base/worker-pool.js';
import { METRICS } from '../report/phrases/metrics.js';
import { Store } from '../store/store.js';
import { Access } from './access.js';
import { Jobs } from './jobs.js';
import { type Family, type Histogram, OPEN_METRICS, openMetricsText, type Sample } from './open-metrics.js';
import { ANSWERED_WITHIN_S, Traffic } from './traffic.js';
import { Watchers } from './watchers.js';

/** What the service tells of itself in numbers. They name no lot, case or person. */
@Controller('metrics')
export class MetricsController {
  constructor(
    private readonly store: Store,
    private readonly traffic: Traffic,
    private readonly jobs: Jobs,
    private readonly watchers: Watchers,
  ) {}

  @Access('everyone')
  @Get()
  @Header('Content-Type', OPEN_METRICS)
  async metrics(@Req() request: Request): Promise<string> {
    this.watchers.refuseOthers(request);
    return openMetricsText([
      gauge('lotwright_build', METRICS.build, [{ labels: { program: programName() }, value: 1 }]),
      ...this.requests(),
      ...this.work(),
      ...(await this.kept()),
      ...ofThisProcess(),
    ]);
  }

  private requests(): (Family | Histogram)[] {
    const answered = [...this.traffic.answered].sort(([a], [b]) => (a < b ? -1 : 1));
    return [
      counter(
        'lotwright_requests',
        METRICS.requests,
        answered.flatMap(([method, { byStatus }]) =>
          [...byStatus].map(([status, value]) => ({ labels: { method, status: String(status) }, value })),
        ),
      ),
      {
        name: 'lotwright_request_duration_seconds',
        ...{ type: 'histogram', unit: 'seconds', help: METRICS.requestSeconds, bounds: ANSWERED_WITHIN_S },
        series: answered.map(([method, { within, seconds }]) => ({
          labels: { method },
          counts: within,
          sum: seconds,
        })),
      },
      gauge('lotwright_requests_open', METRICS.openRequests, [{ value: this.traffic.openRequests }]),
    ];
  }

  private work(): Family[] {
    const open = this.jobs.open();
    const loads = workerLoads();
    return [
      gauge(
        'lotwright_jobs',
        METRICS.jobs,
        ['running', 'waiting'].map((state) => ({
          labels: { state },
          value: open.filter((job) => job.state === state).length,
        })),
      ),
      counter(
        'lotwright_jobs_ended',
        METRICS.jobsEnded,
        [...this.jobs.endedBy].map(([state, value]) => ({ labels: { state }, value })),
      ),
      gauge(
        'lotwright_worker_tasks',
        METRICS.workerTasks,
        loads.flatMap(({ name: worker, running, waiting }) => [
          { labels: { worker, state: 'running' }, value: running },
          { labels: { worker, state: 'waiting' }, value: waiting },
        ]),
      ),
      counter(
        'lotwright_worker_refused',
        METRICS.workerRefused,
        loads.map(({ name: worker, refused }) => ({ labels: { worker }, value: refused })),
      ),
    ];
  }

  /** What was never done has no age. */
  private async kept(): Promise<Family[]> {
    const { ledger, events } = this.store.read;
    const [size, backup, check] = [
      await ledger.size(),
      await events.lastOfType('backup-made'),
      await events.lastOfType('integrity-checked'),
    ];
    const since = (last: { readonly at: string } | undefined): Sample[] =>
      last ? [{ value: (this.store.clock.now().getTime() - Date.parse(last.at)) / 1000 }] : [];
    const faults = check?.event.type === 'integrity-checked' ? [{ value: check.event.faultCount }] : [];
    return [
      gauge('lotwright_ledger_entries', METRICS.ledger, [{ value: size }]),
      { ...gauge('lotwright_backup_age_seconds', METRICS.backupAge, since(backup)), unit: 'seconds' },
      { ...gauge('lotwright_check_age_seconds', METRICS.checkAge, since(check)), unit: 'seconds' },
      gauge('lotwright_check_faults', METRICS.checkFaults, faults),
    ];
  }
}

/** Of the process, under the names that collectors know. */
function ofThisProcess(): Family[] {
  const { user, system } = process.cpuUsage();
  const seconds = (name: string, help: string, value: number): Family => ({
    ...counter(name, help, [{ value }]),
    unit: 'seconds',
  });
  return [
    seconds('lotwright_thread_busy_seconds', METRICS.busy, performance.eventLoopUtilization().active / 1000),
    seconds('process_cpu_seconds', METRICS.cpu, (user + system) / 1e6),
    {
      ...gauge('process_resident_memory_bytes', METRICS.memory, [{ value: process.memoryUsage.rss() }]),
      unit: 'bytes',
    },
    {
      ...gauge('process_start_time_seconds', METRICS.start, [{ value: performance.timeOrigin / 1000 }]),
      unit: 'seconds',
    },
  ];
}

const gauge = (name: string, help: string, samples: readonly Sample[]): Family => ({
  name,
  type: 'gauge',
  help,
  samples,
});

const counter = (name: string, help: string, samples: readonly Sample[]): Family => ({
  name,
  type: 'counter',
  help,
  samples,
});
