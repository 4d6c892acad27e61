import { spawn } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import type { Writable } from 'node:stream';
import { fileURLToPath } from 'node:url';
import { AppError } from '../base/errors.js';
import { DAILY_CHECK } from '../report/phrases/commands/custody.js';
import { PASSPHRASE_FD, passphraseGiven } from '../store/key-passphrase.js';
import type { Store } from '../store/store.js';
import { checkIntegrityAndRecord } from './integrity.js';

const DAY_MS = 24 * 3_600_000;
/** The service starts in peace; then it looks now and then whether a day has gone by. */
const FIRST_LOOK_MS = 60_000;
const LOOK_EVERY_MS = 15 * 60_000;
/** The command line, once compiled. */
const CLI = fileURLToPath(new URL('../cli.js', import.meta.url));
const FOUND_FAULTS = 6;
const LOW_PRIORITY = 10;

export interface DailyCheckOptions {
  readonly firstLookMs?: number;
  readonly lookEveryMs?: number;
  /** Told of a check that could not be made, and of one that found faults. */
  readonly onTrouble: (says: string) => void;
}

/**
 * Checks the integrity of a data folder once a day while a service runs on it. The check is a process of its own: it
 * reads every byte, and pages must not wait for that.
 */
export class DailyCheck {
  private timer: NodeJS.Timeout | undefined;
  private running: AbortController | undefined;

  constructor(
    private readonly store: Store,
    private readonly options: DailyCheckOptions,
  ) {}

  start(): void {
    this.lookIn(this.options.firstLookMs ?? FIRST_LOOK_MS);
  }

  stop(): void {
    clearTimeout(this.timer);
    this.timer = undefined;
    this.running?.abort();
  }

  private lookIn(ms: number): void {
    this.timer = setTimeout(async () => {
      try {
        if (await this.isDue()) await this.check();
      } catch (error) {
        this.options.onTrouble(DAILY_CHECK.notMade((error as Error).message));
      }
      if (this.timer !== undefined) this.lookIn(this.options.lookEveryMs ?? LOOK_EVERY_MS);
    }, ms);
    this.timer.unref();
  }

  private async isDue(): Promise<boolean> {
    const last = (await this.store.read.events.ofTypes(['integrity-checked'])).at(-1);
    return last === undefined || this.store.clock.now().getTime() - Date.parse(last.at) >= DAY_MS;
  }

  private async check(): Promise<void> {
    this.running = new AbortController();
    try {
      const faults = fs.existsSync(CLI) ? await this.inOtherProcess(this.running.signal) : await this.here();
      if (faults) this.options.onTrouble(DAILY_CHECK.faults);
    } finally {
      this.running = undefined;
    }
  }

  private async here(): Promise<boolean> {
    return (await checkIntegrityAndRecord(this.store, 'program')).faults.length > 0;
  }

  private async inOtherProcess(signal: AbortSignal): Promise<boolean> {
    const passphrase = passphraseGiven();
    const child = spawn(process.execPath, [CLI, '--data', this.store.folder.path, 'check'], {
      stdio: ['ignore', 'ignore', 'ignore', passphrase === undefined ? 'ignore' : 'pipe'],
      env: { ...process.env, ...(passphrase === undefined ? {} : { [PASSPHRASE_FD]: '3' }) },
      signal,
    });
    (child.stdio[3] as Writable | null)?.end(passphrase);
    const ended = new Promise<number | null>((resolve, reject) => child.once('exit', resolve).once('error', reject));
    if (child.pid !== undefined) setLowPriority(child.pid);
    const code = await ended;
    if (code !== 0 && code !== FOUND_FAULTS && !signal.aborted) {
      throw new AppError('UNEXPECTED', `the command ended with ${code}`);
    }
    return code === FOUND_FAULTS;
  }
}

/** Where the system does not allow it the check runs all the same. */
function setLowPriority(pid: number): void {
  try {
    os.setPriority(pid, LOW_PRIORITY);
  } catch {}
}
