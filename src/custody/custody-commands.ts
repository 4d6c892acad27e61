import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { type Output, table } from '../cli/output.js';
import { passwordsOf } from '../cli/passwords.js';
import { dataFolderOf, type Run, runBare, systemActor } from '../cli/run.js';
import { DataFolder } from '../store/data-folder.js';
import { makeBackup } from './backup.js';
import { checkFolder, type IntegrityReport } from './integrity.js';
import { rotateKey } from './key-rotation.js';
import { retentionOfLot, retentionOfTrail } from './lot-retention.js';
import { redactEvidence } from './redaction.js';
import { restoreBackup } from './restore.js';
import type { Retention } from './retention.js';

/** Commands that keep what is stored safe, whole and as long as it must be kept. */
export function addCustodyCommands(program: Command, run: Run): void {
  addBackupCommands(program, run);
  addRetentionCommands(program, run);
  addRedactCommand(program, run);
  addKeyCommands(program, run);
}

function addBackupCommands(program: Command, run: Run): void {
  exits(program.command('backup'), {
    6: 'something was damaged already; the backup holds it as found',
    7: 'no such folder',
  })
    .argument('<file>', 'the archive to write, on another disk than the data folder')
    .option(
      '--with-keys',
      'the private keys too: then whoever has the backup can sign in the name of this installation',
    )
    .description('writes database, evidence and records into one archive, while others go on working')
    .action((file: string, options: { withKeys?: boolean }) =>
      run(async ({ store }, out) => {
        const result = await makeBackup(store, file, systemActor(), { withKeys: options.withKeys === true });
        out.object(result);
        out.line(`${result.file}: ${result.files} files, ${result.bytes} bytes, ${keysText(result.withKeys)}`);
        out.line(`Manifest ${result.manifestSha256}: keep this line elsewhere, for restore --manifest.`);
        for (const { path, says } of result.damaged) out.line(`  ${path} ${says}; it is in the backup as it was found`);
        return result.damaged.length === 0 ? 0 : 6;
      }),
    );

  exits(program.command('restore'), { 6: 'the backup was altered', 7: 'no such file' })
    .argument('<file>', 'a backup')
    .option('--manifest <sha256>', 'what the backup said when it was made')
    .description('unpacks a backup into the data folder, which must be empty, and verifies all of it')
    .action((file: string, options: { manifest?: string }) =>
      runBare(program, async (out, common) => {
        const expected = options.manifest === undefined ? {} : { manifestSha256: options.manifest };
        const result = await restoreBackup(file, dataFolderOf(common), systemActor(), expected);
        out.object(result);
        out.line(`${result.folder}: ${result.files} files of the backup of ${result.madeAt}, all as they were saved.`);
        out.line(`Key ${result.fingerprint}${result.newKey ? ': a new one, since the backup holds no keys' : ''}`);
        sayIntegrity(result.integrity, out);
        return result.integrity.faults.length === 0 ? 0 : 6;
      }),
    );

  exits(program.command('check'), { 6: 'something is not as it was stored', 7: 'no data folder' })
    .description('looks at the whole data folder: database, audit trail, evidence, records; notes the result')
    .action(() =>
      runBare(program, async (out, common) => {
        const report = await checkFolder(DataFolder.existing(dataFolderOf(common)), systemActor());
        out.object(report);
        sayIntegrity(report, out);
        return report.faults.length === 0 ? 0 : 6;
      }),
    );
}

const keysText = (withKeys: boolean): string => (withKeys ? 'with keys' : 'without keys');

function sayIntegrity({ files, faults, unreferenced }: IntegrityReport, out: Output): void {
  out.line(`${files} files looked at: ${faults.length === 0 ? 'all as they were stored' : `${faults.length} faults`}.`);
  for (const { what, name, says } of faults) out.line(`  ${what} ${name}: ${says}`);
  if (unreferenced.length > 0) out.line(`${unreferenced.length} files that nothing names; they are left alone.`);
}

function addRetentionCommands(program: Command, run: Run): void {
  exits(program.command('retention'), { 7: 'no such lot' })
    .argument('[lot]', 'one lot with every rule; all lots and the audit trail when absent')
    .description('until when records are kept, and which rule says so')
    .action((lot: string | undefined) =>
      run(async ({ store }, out) => {
        if (lot === undefined) return sayAllRetentions(store.read, out);
        const retention = await retentionOfLot(store.read, lot);
        out.object({ lot, ...retention });
        out.line(retentionText(`Lot ${lot}`, retention));
        for (const { rule, until, applies, says, source } of retention.rules) {
          out.line(`  ${rule}: ${applies && until !== null ? `until ${until}, ` : ''}${says} (${source})`);
        }
        return 0;
      }),
    );

  const hold = program.command('legal-hold').description('keeps the records of a lot, whatever their age');
  for (const [name, does] of [
    ['place', 'from now on nothing of the lot may be removed'],
    ['lift', 'the rules of retention count again'],
  ] as const) {
    exits(hold.command(name), { 5: 'refused', 7: 'no such lot' })
      .argument('<lot>')
      .requiredOption('--person <code>', 'who does it')
      .requiredOption('--reason <text>', 'why')
      .option('--password-stdin', 'reads the password from standard input instead of asking')
      .description(does)
      .action((lot: string, options: { person: string; reason: string; passwordStdin?: boolean }) =>
        run(async ({ accounts, stateActs }, out) => {
          const [password] = await passwordsOf([options.person], options.passwordStdin === true);
          const proof = await accounts.prove(options.person, password!);
          if (name === 'place') await stateActs.placeLegalHold(proof, lot, options.reason);
          else await stateActs.liftLegalHold(proof, lot, options.reason);
          out.object({ lot, legalHold: name === 'place' });
          out.line(`Lot ${lot}: legal hold ${name === 'place' ? 'placed' : 'lifted'}.`);
          return 0;
        }),
      );
  }
}

async function sayAllRetentions(read: Parameters<typeof retentionOfLot>[0], out: Output): Promise<number> {
  const lots = [];
  for (const { key } of await read.list('lot')) lots.push({ lot: key, ...(await retentionOfLot(read, key)) });
  const trail = await retentionOfTrail(read);
  out.object({ lots, auditTrail: trail ?? null });
  if (lots.length > 0) {
    for (const row of table(lots.map(({ lot, until, rule }) => [lot, until ?? 'no end', rule]))) out.line(row);
  }
  if (trail) out.line(retentionText('Audit trail', trail));
  return 0;
}

const retentionText = (what: string, { until, rule }: Retention): string =>
  `${what}: kept ${until === null ? 'without end' : `until ${until}`} (${rule})`;

function addRedactCommand(program: Command, run: Run): void {
  exits(program.command('redact'), { 5: 'refused', 7: 'no such evidence' })
    .argument('<sha256>', 'an evidence file')
    .requiredOption('--person <code>', 'who removes it')
    .requiredOption('--second <code>', 'the other person, of another role')
    .requiredOption('--reason <text>', 'why its bytes must go')
    .option('--password-stdin', 'reads both passwords from standard input, one a line')
    .description('removes the bytes of an evidence file for good; its hash, its name and the act stay')
    .action((sha256: string, options: { person: string; second: string; reason: string; passwordStdin?: boolean }) =>
      run(async ({ store, accounts }, out) => {
        const persons = [options.person, options.second];
        const [first, second] = await passwordsOf(persons, options.passwordStdin === true);
        const proofs = [
          await accounts.prove(options.person, first!),
          await accounts.prove(options.second, second!),
        ] as const;
        const result = await redactEvidence(store, sha256, proofs, options.reason);
        out.object(result);
        out.line(`The bytes of ${sha256} are gone. Backups made before still hold them.`);
        return 0;
      }),
    );
}

function addKeyCommands(program: Command, run: Run): void {
  const keys = program.command('keys').description('the key with which this installation signs');
  exits(keys.command('list'))
    .description('every key that has signed here, oldest first')
    .action(() =>
      run(async ({ store }, out) => {
        const known = await store.read.installationKeys();
        const inUse = store.key.fingerprint;
        out.object({ inUse, keys: known });
        for (const { fingerprint } of known) out.line(`${fingerprint}${fingerprint === inUse ? '  in use' : ''}`);
        return 0;
      }),
    );
  exits(keys.command('rotate'))
    .requiredOption('--reason <text>', 'why the key changes')
    .description('a new key in the place of the old one; the audit trail names both. Stop the service first')
    .action((options: { reason: string }) =>
      run(async ({ store }, out) => {
        const rotated = await rotateKey(store, systemActor(), options.reason);
        out.object(rotated);
        out.line(`Key ${rotated.fingerprint} replaces ${rotated.replaced}. Tell whoever keeps the fingerprint.`);
        return 0;
      }),
    );
}
