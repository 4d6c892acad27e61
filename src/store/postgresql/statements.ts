import { plainQuestions } from '../plain-questions.js';
import type { Questions } from '../questions.js';
import { boundsOfStart } from '../text-bounds.js';
import * as assessments from './assessments.js';
import * as history from './history.js';
import * as identifiers from './identifiers.js';
import * as kept from './kept.js';
import * as ledger from './ledger.js';
import { inNumbers, inTexts } from './listed.js';
import * as lists from './lists.js';
import * as revisions from './revisions.js';
import { inMs, NOW } from './times.js';
import * as trace from './trace.js';
import * as trail from './trail.js';

/** What the repositories ask, in the SQL of PostgreSQL. */
export const POSTGRESQL: Questions = {
  ...plainQuestions({ place: (at) => `$${at}`, inTexts, inNumbers, now: NOW, inMs }),
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
