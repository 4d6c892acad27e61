// usage: node scripts/run-bench.mjs BENCH FILE: runs one bench and writes its figures into a file, as JSON.
import fs from 'node:fs';
import { pathToFileURL } from 'node:url';

const [bench, file] = process.argv.slice(2);
const { run } = await import(pathToFileURL(bench).href);
fs.writeFileSync(file, JSON.stringify(await run()));
process.exit(0);
