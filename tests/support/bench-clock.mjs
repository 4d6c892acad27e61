// Benches take in what happened in the invented spring of 2031: one that imports this runs after it, and so do the
// commands that it starts. Each bench has a process of its own.
import { fileURLToPath } from 'node:url';

process.env.TEST_CLOCK_AHEAD_MS = String(Date.parse('2031-06-01T12:00:00Z') - Date.now());
process.env.NODE_OPTIONS = `--import ${fileURLToPath(new URL('clock-ahead-compiled.mjs', import.meta.url))}`;
await import('./clock-ahead-compiled.mjs');
