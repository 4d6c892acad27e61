import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { BadInputError } from '../base/errors.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFacts } from '../dossier/schema.js';
import { logsOf } from '../kinds/log-files.js';
import { buildRequest } from '../process-logs/build-request.js';
import { scanLog } from '../process-logs/scan-file.js';
import { SCANNER } from '../process-logs/scanner.js';
import { sidecarsOf } from '../process-logs/units-sidecar.js';
import { checkShapes } from './check-shapes.js';
import { type Difference, firstDifference } from './first-difference.js';
import type { Steps } from './report.js';

/** Compares original files with the hashes in the lot file, and scans the logs again. Files are known by their bytes. */
export async function checkEvidence(facts: Facts, folder: string, steps: Steps): Promise<void> {
  if (!fs.existsSync(folder) || !fs.statSync(folder).isDirectory()) {
    throw new BadInputError([
      { code: 'no-folder', found: folder, expected: 'a folder with evidence files', remedy: 'name an existing folder' },
    ]);
  }
  const found = await hashFiles(folder);
  const missing = facts.evidence.filter((item) => !found.has(item.sha256));
  if (missing.length === 0) {
    steps.holds('evidence', { code: 'evidence there', facts: { count: facts.evidence.length } });
  } else {
    // One file may be of several documents.
    const files = [...new Map(missing.map(({ sha256, fileName }) => [sha256, fileName])).values()];
    steps.broken('evidence', { code: 'evidence missing', facts: { files } });
  }
  const bodies = <T>(documents: ReadonlyMap<string, { readonly body: T }>) =>
    new Map([...documents].map(([key, { body }]) => [key, body]));
  const [recipes, maps] = [bodies(facts.recipes), bodies(facts.channelMaps)];
  for (const build of facts.lot.body.builds) {
    const logs = facts.dossier.logs.filter((log) => log.build === build.build);
    const [log] = logs;
    if (log === undefined || logs.some(({ sha256 }) => !found.has(sha256))) continue;
    const documents = { recipes, maps, sidecars: sidecarsOf(logs) };
    const fields = logsOf(build).map(({ field }) => field);
    const request = buildRequest(facts.lot.body, build, documents, (field) => ({
      path: found.get(logs[fields.indexOf(field)]!.sha256)!,
    }));
    const { part } = await scanLog(request);
    const attached = facts.logParts.get(log.build)!;
    const names = log.scanner === SCANNER ? 'all' : 'attached';
    const difference = firstDifference(JSON.parse(canonicalJson(attached)), JSON.parse(canonicalJson(part)), names);
    sayLog(log, difference, steps);
  }
  await checkShapes(facts, found, steps);
}

/** Another scanner than the one that made the attached findings may honestly find something else. */
function sayLog({ build, scanner }: LogFacts, difference: Difference | undefined, steps: Steps): void {
  const step = { step: 'log', of: build } as const;
  if (difference === undefined) steps.holds(step, { code: 'scanned alike' });
  else if (scanner === SCANNER) steps.broken(step, { code: 'scanned otherwise', facts: { difference } });
  else steps.differs(step, { code: 'other scanner', facts: { scanner, own: SCANNER, difference } });
}

async function hashFiles(folder: string): Promise<Map<string, string>> {
  const found = new Map<string, string>();
  for (const entry of fs.readdirSync(folder, { withFileTypes: true, recursive: true })) {
    if (!entry.isFile()) continue;
    const file = path.join(entry.parentPath, entry.name);
    const hash = createHash('sha256');
    for await (const chunk of fs.createReadStream(file)) hash.update(chunk as Buffer);
    found.set(hash.digest('hex'), file);
  }
  return found;
}
