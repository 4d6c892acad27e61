// usage: npm run formats [-- --freeze]: what the formats of now break of the frozen ones; --freeze makes them the frozen ones.
import fs from 'node:fs';
import { breaches } from '../tests/formats/breaches.ts';
import { formatsNow } from '../tests/formats/formats-now.ts';
import { freeze, frozenFormats, whyNotToFreeze } from '../tests/formats/frozen-formats.ts';

const { version } = JSON.parse(fs.readFileSync('package.json', 'utf8'));
const now = formatsNow();
const found = breaches(frozenFormats(), now);
if (process.argv.includes('--freeze')) {
  const why = whyNotToFreeze(version, found);
  if (why === undefined) freeze(now);
  else fail(why);
} else if (found.length > 0) fail(found.join('\n'));
else console.log(`${Object.keys(now).length} formats, none breaks what was frozen`);

function fail(why) {
  console.error(why);
  process.exitCode = 1;
}
