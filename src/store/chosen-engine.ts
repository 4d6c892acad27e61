import type { EngineOfFolders } from './engine.js';
import { auditLedger } from './sqlite/ledger-audit.js';
import { SqliteEngine, takeServiceLock } from './sqlite/sqlite-engine.js';

/** The engine of data folders, and the one place that names it: everything else knows the port. */
export const ENGINE: EngineOfFolders = { open: SqliteEngine.open, audit: auditLedger, takeServiceLock };
