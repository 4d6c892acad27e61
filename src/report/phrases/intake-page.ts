import { afterStoredText } from './stored-parts.js';

const GIB = 1024 ** 3;

/** What the page that takes documents in says around the facts. */
export const INTAKE_PAGE = {
  stored: 'Stored:',
  limits: (limits: { files: number; uploadFileBytes: number; uploadBytes: number }) =>
    `At most ${limits.files.toLocaleString('en').replaceAll(',', ' ')} files, ${limits.uploadFileBytes / GIB} GiB in one of them and ${limits.uploadBytes / GIB} GiB in all; the command takes in larger files.`,
  wrong: (problems: number, stored: readonly string[]) => {
    const count = problems === 1 ? 'one thing is wrong' : `${problems} things are wrong`;
    return stored.length === 0 ? `${count}, and nothing was stored` : afterStoredText(count, stored);
  },
};
