import { kindText } from '../kinds.js';

/** What the command that takes folders in prints around the facts. */
export const INTAKE_LINES = {
  progress: (file: string, percent: string | number, rows: string | number) =>
    `${file}: ${percent} %, ${rows} rows read `,
  checked: 'Checked: nothing is wrong. Nothing was stored.',
  nothingNew: 'Nothing new: everything in this folder is in the data folder already.',
  document: (kind: string, key: string, revision: number | null) => `${kindText(kind)} ${key}, revision ${revision}`,
  results: (recorded: number, corrections: number) => `${recorded} results, ${corrections} of them corrections`,
  notKept: (file: string) => `not kept, no document names it: ${file}`,
  hidden: (file: string) => `not kept, its name begins with a dot: ${file}`,
};
