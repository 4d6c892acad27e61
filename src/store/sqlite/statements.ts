import * as assessments from './assessments.js';
import * as ledger from './ledger.js';
import * as lists from './lists.js';
import * as recorded from './recorded-tables.js';
import * as revisions from './revisions.js';
import * as trace from './trace.js';
import * as trail from './trail.js';

/** What the repositories ask in SQL. Another engine answers the same questions in its own words. */
export const SQLITE = { ...assessments, ...ledger, ...lists, ...recorded, ...revisions, ...trace, ...trail };
