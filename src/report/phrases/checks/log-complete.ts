import { z } from 'zod';
import { logFindingWords } from '../log-finding.js';
import { type CheckPhrases, readFact } from '../phrase.js';

const LOGS = z.array(z.tuple([z.string(), z.number(), z.number()]));

export const logComplete: CheckPhrases = {
  title: 'Process log complete from closing to opening',
  asks: 'Is there a log of each build, without gaps, missing values or layers that were never logged?',
  recompute: `"no log" for each build without log-BUILD.json, with its implants. "one log for two builds" for each entry under
"logs" of dossier.json of which the first one before it with the same "textSha256" is of another build, with the implants of
both. And the log findings on whether the log can be trusted (section 9).`,
  basis: ({ logs }) =>
    readFact(LOGS, logs)
      .map(([file, rows, rejected]) => `${file}: ${rows} rows, ${rejected} rejected`)
      .join('; '),
  rules: {
    'no log': ({ build }) => ({
      says: `Build ${build} has no process log.`,
      clearedBy: 'Operator: take in the log of the run.',
    }),
    'one log for two builds': ({ file, build, earlierFile, earlierBuild }) => ({
      says: `${file} of ${build} has the same content as ${earlierFile} of ${earlierBuild}.`,
      clearedBy: 'Operator: take in the log of each run from the recorder.',
    }),
  },
  otherRule: logFindingWords,
};
