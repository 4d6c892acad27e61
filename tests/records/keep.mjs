// usage: node tests/records/keep.mjs RECORD.pdf
// Keeps a sealed, final record of the present release in this folder, where a test verifies it for ever after. Run it
// once for each release, with a record of the demo; commit the PDF and kept.json, and never change or remove either.
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { ensureBuilt, ROOT } from '../../scripts/ensure.mjs';

ensureBuilt();
const { verifyRecord } = await import('../../dist/verify/verify-record.js');
const { readPdf } = await import('../../dist/verify/read-pdf.js');

const folder = path.dirname(new URL(import.meta.url).pathname);
const list = path.join(folder, 'kept.json');
const { version } = JSON.parse(fs.readFileSync(path.join(ROOT, 'package.json'), 'utf8'));

const [file] = process.argv.slice(2);
if (file === undefined) stop('name one PDF record');
const bytes = fs.readFileSync(file);
const report = await verifyRecord(file);
const holds = (step) => report.steps.some((item) => item.step === step && item.outcome === 'holds');
if (report.verdict !== 'unaltered') stop(`${file} does not verify: ${report.verdict}`);
if (!holds('seal') || !holds('audit trail')) stop(`${file} is a draft: keep a final, sealed record`);
const { attachments } = await readPdf(bytes);
const enclosure = JSON.parse(Buffer.from(attachments.get('enclosure.json')).toString('utf8'));
if (!enclosure.demo) stop(`${file} is a record of real work: keep one of the demo, where everything is invented`);

const name = `${version}-${report.record.number}-r${report.record.revision}.pdf`;
const kept = JSON.parse(fs.readFileSync(list, 'utf8'));
if (kept.some((item) => item.release === version)) stop(`there is a record of release ${version} already`);
kept.push({
  release: version,
  file: name,
  sha256: createHash('sha256').update(bytes).digest('hex'),
  key: enclosure.keys[0].fingerprint,
  verdicts: Object.fromEntries(report.units.map(({ serial, verdict }) => [serial, verdict])),
});
fs.copyFileSync(file, path.join(folder, name));
fs.writeFileSync(list, `${JSON.stringify(kept, null, 2)}\n`);
console.log(`kept ${name}`);

function stop(why) {
  console.error(why);
  process.exit(2);
}
