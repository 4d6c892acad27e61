import { afterStoredText } from './stored-parts.js';

const GIB = 1024 ** 3;

/** What the page that takes documents in says around the facts. */
export const INTAKE_PAGE = {
  stored: 'Stored:',
  limits: (limits: { files: number; fileBytes: number; allBytes: number }) =>
    `At most ${limits.files.toLocaleString('en').replaceAll(',', ' ')} files, ${limits.fileBytes / GIB} GiB in one of them and ${limits.allBytes / GIB} GiB in all; the command takes in what is larger.`,
  wrong: (problems: number, stored: readonly string[]) => {
    const count = problems === 1 ? 'one thing is wrong' : `${problems} things are wrong`;
    return stored.length === 0 ? `${count}, and nothing was stored` : afterStoredText(count, stored);
  },
};
