import { createPrivateKey, generateKeyPairSync } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { deserialize, serialize } from 'node:v8';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import type { RecordIssue } from '../../src/records/enclosure.js';
import { assessedLot } from './record-content.js';
import { type SealedRecord, SmallInstallation, sealIn } from './sealed-record.js';
import { template } from './template.js';

/** The lot of the plain cell, and the installation whose audit trail ends with its first final record. */
export interface IssuedLot {
  readonly lot: AssessedLot;
  readonly installation: SmallInstallation;
  readonly first: SealedRecord;
}

/** Reviewed and released; assessed and rendered once a run. */
export async function issuedLot(): Promise<IssuedLot> {
  const lot = await assessedLot();
  const folder = await template('issued-lot', async (made) => {
    fs.mkdirSync(made);
    const key = generateKeyPairSync('ed25519').privateKey;
    fs.writeFileSync(path.join(made, 'key.pem'), key.export({ type: 'pkcs8', format: 'pem' }));
    const installation = installationOf(made);
    const record = await installation.render(lot, firstIssue(installation, lot));
    fs.writeFileSync(path.join(made, 'record'), serialize(record));
  });
  const installation = installationOf(folder);
  firstIssue(installation, lot);
  return { lot, installation, first: deserialize(fs.readFileSync(path.join(folder, 'record'))) };
}

/** Signatures with one key are the same each time, and with them the audit trail. */
function installationOf(folder: string): SmallInstallation {
  const key = createPrivateKey(fs.readFileSync(path.join(folder, 'key.pem')));
  return new SmallInstallation(sealIn(folder), key);
}

function firstIssue(installation: SmallInstallation, lot: AssessedLot): RecordIssue {
  const signatures = [installation.signed(lot, 'reviewed', 'Rea'), installation.signed(lot, 'released', 'Rolf')];
  return installation.issueOf(lot, 1, signatures);
}
