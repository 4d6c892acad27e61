import fs from 'node:fs';
import path from 'node:path';
import { makeBackup } from '../custody/backup.js';
import { checkIntegrity } from '../custody/integrity.js';
import { restoreBackup } from '../custody/restore.js';
import { ENGINE } from '../store/chosen-engine.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { ANSWERS } from '../verify/answer.js';
import { verifyRecord } from '../verify/verify-record.js';
import { type DemoResult, runDemo } from './run-demo.js';

const ACTOR = 'local:self-check';

/** One thing that was tried, with what had to come out and what came out. */
export interface CheckedItem {
  readonly group: 'reference numbers' | 'scenario' | 'tampering' | 'restore';
  readonly name: string;
  readonly expected: string;
  readonly found: string;
  readonly ok: boolean;
}

/** What the invented scenario must come to, implant by implant. */
const EXPECTED_VERDICTS: Readonly<Record<string, string>> = {
  'L-2026-013': 'conforms, conforms',
  'L-2026-014': 'conforms, does not conform, conforms',
  'L-2026-015': 'cannot be decided, cannot be decided',
  'C-2026-01': 'conforms, conforms, does not conform',
  'C-2026-02': 'conforms, conforms, conforms',
  'C-2026-03': 'conforms, conforms, conforms, conforms',
};

/**
 * Plays the scenario into a folder of its own, compares what comes out, and then does to it what must not go unseen.
 * @param folder an empty one; what is in it afterwards is of no use.
 */
export async function checkScenario(folder: string): Promise<CheckedItem[]> {
  return checkPlayed(await runDemo({ folder: path.join(folder, 'data'), say: () => {} }), folder);
}

/**
 * Compares what came of the scenario, and then does to it what must not go unseen.
 * @param demo as it was played; what is in its folder afterwards is of no use.
 * @param folder for a backup and what is restored from it.
 */
export async function checkPlayed(demo: DemoResult, folder: string): Promise<CheckedItem[]> {
  return [
    ...checkVerdicts(demo),
    ...(await checkRecords(demo)),
    ...(await checkBackup(demo.folder, folder)),
    await checkSwappedEvidence(demo.folder),
    await checkEditedTrail(demo.folder),
  ];
}

function item(group: CheckedItem['group'], name: string, expected: string, found: string): CheckedItem {
  return { group, name, expected, found, ok: found === expected };
}

function checkVerdicts({ lots }: DemoResult): CheckedItem[] {
  return Object.entries(EXPECTED_VERDICTS).map(([lot, expected]) => {
    const units = lots.find((one) => one.lot === lot)?.units ?? [];
    return item('scenario', `verdicts of lot ${lot}`, expected, units.map(({ verdict }) => verdict).join(', '));
  });
}

async function checkRecords({ lots }: DemoResult): Promise<CheckedItem[]> {
  const items: CheckedItem[] = [];
  for (const { lot, record } of lots) {
    const { answer } = await verifyRecord(record.file);
    items.push(item('scenario', `record of lot ${lot}, assessed again offline`, 'issuer not compared', answer));
  }
  const [first] = lots;
  const changed = `${first!.record.file}.changed`;
  fs.writeFileSync(changed, withOneBitChanged(fs.readFileSync(first!.record.file)));
  const { answer } = await verifyRecord(changed);
  fs.rmSync(changed);
  // A bit that changes nothing of what is shown and carried is told apart, and refused as the others are.
  const found = ANSWERS[answer] === ANSWERS.altered ? 'altered' : answer;
  return [...items, item('tampering', `record of lot ${first!.lot} with one bit changed`, 'altered', found)];
}

async function checkBackup(data: string, folder: string): Promise<CheckedItem[]> {
  const file = path.join(folder, 'backup.zip');
  const store = await Store.open(DataFolder.open(data));
  try {
    await makeBackup(store, file, ACTOR, { withKeys: false });
  } finally {
    await store.close();
  }
  const restore = async (from: string, name: string): Promise<string> => {
    try {
      const { integrity } = await restoreBackup(from, path.join(folder, name), ACTOR);
      return integrity.faults.length === 0 ? 'restored and verified' : 'restored with faults';
    } catch (error) {
      return `refused (${(error as { code?: string }).code})`;
    }
  };
  const items = [item('restore', 'a backup, restored elsewhere', 'restored and verified', await restore(file, 'good'))];
  fs.writeFileSync(file, withOneBitChanged(fs.readFileSync(file)));
  return [
    ...items,
    item('restore', 'the same backup with one bit changed', 'refused (ALTERED)', await restore(file, 'bad')),
  ];
}

async function checkSwappedEvidence(data: string): Promise<CheckedItem> {
  const store = await Store.open(DataFolder.open(data));
  try {
    const [victim] = await store.evidence.list();
    const file = await store.evidence.pathOf(victim!);
    const bytes = fs.readFileSync(file);
    fs.chmodSync(file, 0o600);
    fs.writeFileSync(file, withOneBitChanged(bytes));
    const { faults } = await checkIntegrity(store);
    fs.writeFileSync(file, bytes);
    const found = faults.map(({ what, name }) => `${what} ${name}`).join(', ');
    return item('tampering', 'an evidence file with one bit changed', `evidence ${victim}`, found);
  } finally {
    await store.close();
  }
}

/** With a plain editor, in the file of the database: one letter of the name of whoever did something. */
async function checkEditedTrail(data: string): Promise<CheckedItem> {
  const { database } = DataFolder.open(data);
  const bytes = fs.readFileSync(database);
  const at = bytes.indexOf('"actor":"local:demo"');
  bytes.write('"actor":"local:dema"', at, 'latin1');
  fs.writeFileSync(database, bytes);
  const report = await ENGINE.audit(database);
  return item('tampering', 'a name in the audit trail, edited in the file', 'seen', report.ok ? 'not seen' : 'seen');
}

function withOneBitChanged(bytes: Buffer): Buffer {
  const changed = Buffer.from(bytes);
  changed[Math.floor(changed.length / 2)]! ^= 1;
  return changed;
}
