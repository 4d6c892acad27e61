import { timeText } from '../../../dossier/time-text.js';

/** What the service says on the terminal when it starts. */
export const SERVE_LINES = {
  passphrase: 'Passphrase of the key: ',
  serves: (folder: string, url: string) => `Lotwright serves ${folder} at ${url}  (Ctrl+C ends it)`,
  firstLink: 'Nobody has an account yet. Open this link once to make the first administrator:',
  link: (url: string) => `  ${url}`,
  runsOut: (at: string) => `It runs out at ${timeText(at)}, or when the service starts again.`,
};
