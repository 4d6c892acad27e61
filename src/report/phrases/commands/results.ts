import { counted } from '../counted.js';

/** What the command on the values of a lot prints around the facts. */
export const RESULT_LINES = {
  counted: (lot: string, values: number) =>
    values === 0 ? `No value of lot ${lot} is on record.` : `${counted(values, 'value')} of lot ${lot}:`,
  heads: ['specimen', 'characteristic', 'replicate', 'value', 'measured', 'instrument', 'by', 'from', ''],
  line: (line: string) => `line ${line}`,
  corrected: 'corrected later',
};
