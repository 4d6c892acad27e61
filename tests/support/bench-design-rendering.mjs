import fs from 'node:fs';
import path from 'node:path';
import { performance } from 'node:perf_hooks';
import { renderDesign } from '../../dist/design-file/paper/render.js';

/** usage: node bench-design-rendering.mjs DESIGN.json FILE.pdf; prints seconds and the most memory that this process took. */
const [given, drawn] = process.argv.slice(2);
const issue = {
  ...{ order: 'design-history', demo: true, program: 'bench', node: process.versions.node, signatures: [], keys: [] },
  ...{ printedAt: '2031-03-05T10:00:00.000Z', printedOffset: '+00:00', printedBy: 'bench', people: [], seal: null },
  ledger: { size: 1, root: 'a1'.repeat(32), checkpoint: null, proofs: [] },
};
const templateText = fs.readFileSync(path.join('templates', 'records', 'design-history.yaml'), 'utf8');
const designText = fs.readFileSync(given, 'utf8');
const begun = performance.now();
const { pdf } = await renderDesign({ designText, templateText, evidence: [], issue });
const seconds = (performance.now() - begun) / 1000;
const megabytes = process.resourceUsage().maxRSS / 1024;
fs.writeFileSync(drawn, pdf);
console.log(JSON.stringify({ seconds, megabytes }));
