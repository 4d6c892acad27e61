/** Words around a capability statement. */
export const TREND_STATEMENT = {
  planOf: (family: string) => `signed capability plan in force, family ${family}, characteristic`,
  statementOf: (family: string, characteristic: string) =>
    `capability statement of ${characteristic}, family ${family}`,
  grew: 'the history of the family grew meanwhile; state it again',
  noIndex: 'No statement: no index can be stated, for the reasons above.',
  stated: (number: number, digest: string, known: boolean) =>
    `Statement ${number}${known ? ', which says the same as before' : ''}: ${digest}`,
  written: (file: string) => `Written to ${file}; verify computes it again from that file alone.`,
  noNumber: (found: string) =>
    `--number is ${JSON.stringify(found)}, expected a number from 1 beside --statement FILE: it names a statement that was frozen before`,
  exists: (file: string) => `${file} exists already; name a file that does not`,
  holds: (number: number, family: string, characteristic: string) =>
    `Capability statement ${number}, ${characteristic} of family ${family}: computed again from what it carries, it says the same to the last digit. Whether its rows are those of the installation, the audit trail says: compare the digest.`,
  digest: (sha256: string) => `SHA-256 of the statement: ${sha256}`,
  altered: (place: string, found: string | null, again: string | null) =>
    `ALTERED: at ${place} it says ${found ?? 'nothing'}, and computed again ${again ?? 'nothing'}.`,
  otherVersion: (program: string, place: string, found: string | null, again: string | null) =>
    `Made by ${program}; this version comes to something else at ${place}: ${again ?? 'nothing'} for ${found ?? 'nothing'}.`,
  notCanonical: 'ALTERED: it is not in the one canonical form in which statements are written.',
};
