import { plainQuestions } from '../plain-questions.js';
import type { Questions } from '../questions.js';
import { boundsOfStart } from '../text-bounds.js';
import * as assessments from './assessments.js';
import * as history from './history.js';
import * as identifiers from './identifiers.js';
import * as kept from './kept.js';
import * as ledger from './ledger.js';
import * as lists from './lists.js';
import * as revisions from './revisions.js';
import * as trace from './trace.js';
import * as trail from './trail.js';

const isIn = (column: string): string => `${column} IN (SELECT value FROM json_each(?))`;

const ISO = '%Y-%m-%dT%H:%M:%fZ';

const TIMES = {
  now: `strftime('${ISO}', 'now')`,
  inMs: () => `strftime('${ISO}', 'now', printf('%+.3f seconds', ? / 1000.0))`,
};

/** What the repositories ask, in SQL. */
export const SQLITE: Questions = {
  ...plainQuestions({ place: () => '?', inTexts: isIn, inNumbers: isIn, ...TIMES }),
  ...assessments,
  ...history,
  ...identifiers,
  ...kept,
  ...ledger,
  ...lists,
  ...revisions,
  ...trace,
  ...trail,
  boundsOfStart,
};
