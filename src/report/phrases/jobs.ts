import { counted } from './counted.js';

/** What pages say of work that takes long. */
export const JOBS = {
  states: {
    waiting: 'It waits for its turn.',
    running: 'It runs. This page may be left, closed or loaded again: the work goes on.',
    done: 'It is done.',
    failed: 'It came to nothing, and nothing of it was stored.',
    cancelled: 'It was cancelled, and nothing of it was stored.',
  },
  /** Of work whose parts are stored one by one. */
  inParts: {
    failed: 'It was cut off. What was done until then stays.',
    cancelled: 'It was cancelled. What was done until then stays.',
  },
  begun: (name: string, person: string, at: string): string => `Begun by ${name} (${person}), ${at}.`,
  left: (seconds: number) => {
    if (seconds < 90) return `About ${seconds} ${seconds === 1 ? 'second' : 'seconds'} more.`;
    const minutes = Math.ceil(seconds / 60);
    return `About ${minutes} minutes more.`;
  },
  issuing: (name: string, person: string, at: string) =>
    `A record of this lot is being issued now. ${JOBS.begun(name, person, at)}`,
  seeHowFar: 'See how far it is',
  issue: (lot: string) => `Issue the record of lot ${lot}`,
  assessAgain: (lots: number) => `Freeze and assess ${counted(lots, 'lot')}`,
  impact: (id: string) => `What it means that ${id} was off`,
  integrity: 'Check everything that is kept',
  check: 'Check what was brought in',
  store: 'Store what was brought in',
};
