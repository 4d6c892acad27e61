import { Injectable } from '@nestjs/common';
import { LotOverview } from '../lots/lot-overview.js';
import { notMadeAheadText } from '../report/phrases/lot-state.js';
import { WaitingList } from '../signing/waiting-list.js';
import { Duties } from './today/duties.js';

/** Makes what the first pages of a service show before anybody asks for it, while it serves already. */
@Injectable()
export class Ahead {
  private isClosed = false;
  private working: Promise<void> = Promise.resolve();

  constructor(
    private readonly overview: LotOverview,
    private readonly waiting: WaitingList,
    private readonly duties: Duties,
  ) {}

  /** @param onTrouble told when it could not be made: then whoever asks makes it. */
  start(onTrouble: (says: string) => void): Promise<void> {
    this.working = this.run().catch((error: unknown) => onTrouble(notMadeAheadText((error as Error).message)));
    return this.working;
  }

  async close(): Promise<void> {
    this.isClosed = true;
    await this.working;
  }

  private async run(): Promise<void> {
    const isOver = () => this.isClosed;
    await this.overview.catchUp(isOver);
    await this.waiting.catchUp(isOver);
    if (!isOver()) await this.duties.askAhead();
  }
}
