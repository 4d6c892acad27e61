import { counted } from './counted.js';

/** Words of the page on which all lots that wait for it are assessed. */
export const ASSESS_ALL = {
  says: (lots: number, most: number) =>
    lots <= most
      ? `${counted(lots, 'lot')} ${lots === 1 ? 'waits' : 'wait'} to be frozen as they stand and assessed.`
      : `${lots} lots wait to be frozen as they stand and assessed: the first ${most} of them at one go.`,
  earlierVersion: 'An earlier version of the program assessed it',
  notAssessed: (why: string) => `It could not be assessed: ${why}`,
};
