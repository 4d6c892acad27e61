import { ABSENT } from '../absent.js';
import { HEADS } from '../heads.js';
import { trailSubjectText } from '../kinds.js';

/** What the service logs of the check that it makes once a day. */
export const DAILY_CHECK = {
  notMade: (why: string) => `the daily check could not be made: ${why}`,
  faults: 'the daily check found faults: see the first page, or run "lotwright check"',
};

/** What the commands that keep the data folder print around the facts. */
export const CUSTODY_LINES = {
  backup: (file: string, files: number, bytes: number, withKeys: boolean) =>
    `${file}: ${files} files, ${bytes} bytes, ${withKeys ? 'with keys' : 'without keys'}`,
  manifest: (sha256: string) => `Manifest ${sha256}: keep this line elsewhere, for restore --manifest.`,
  damaged: (path: string, says: string) => `${path} ${says}; it is in the backup as it was found`,
  relocated: (rows: number, entries: number, files: number) =>
    `Moved ${rows} rows. ${entries} entries of the audit trail, every row and ${files} files were verified where they are now.`,
  relocatedFrom: (kept: string) =>
    `The former database stays as ${kept}, which nothing writes any more. Name the server in LOTWRIGHT_STORE from now on, with the password of the role.`,
  relocatedEvidence: (files: number, bytes: number, address: string) =>
    `Moved ${files} files of evidence, ${bytes} bytes, to ${address}. Each was read again from there and has its SHA-256.`,
  relocatedEvidenceFrom: (kept: string) =>
    `The former folder stays as ${kept}, which nothing opens any more: put it away, or remove it once a backup was restored elsewhere.`,
  restored: (folder: string, files: number, madeAt: string) =>
    `${folder}: ${files} files of the backup of ${madeAt}, all as they were saved.`,
  restoredKey: (fingerprint: string, isMissing: boolean) =>
    `Key ${fingerprint}${isMissing ? ': the backup does not hold it. Put keys/installation.pem back, or let two people make another: keys replace. Until then nothing can be signed' : ''}`,
  key: (fingerprint: string, inUse: boolean) => `${fingerprint}${inUse ? '  in use' : ''}`,
  rotated: (fingerprint: string, replaces: string) =>
    `Key ${fingerprint} replaces ${replaces}. Tell whoever keeps the fingerprint.`,
  lostReplaced: (fingerprint: string, replaces: string, persons: readonly string[]) =>
    `Key ${fingerprint} stands for the lost ${replaces}, as ${persons.join(' and ')} vouch. Tell whoever keeps the fingerprint.`,
  firstPerson: (name: string, key: string) => `The keys of people begin with that of ${name}: ${key}`,
  anchor: (firstKey: string, inUse: string, line: string | null) => [
    'Print this, and keep it where nobody can write it anew:',
    `first key ${firstKey}`,
    `key in use ${inUse}`,
    ...(line === null ? [] : [`head ${line}`]),
  ],
  anchorRenewed: (size: number, persons: readonly string[]) =>
    `The audit trail of ${size} entries is accepted as it is, by ${persons.join(' and ')}.`,
  addressLeft: (url: string) =>
    `${url} holds heads of the audit trail that was left, and is no second place any more: name a new one with keys anchor --also.`,
  newPassphrase: 'New passphrase of the key: ',
  locked: (isLocked: boolean) =>
    isLocked ? 'The key asks for its passphrase from now on.' : 'The key is open from now on.',
  legalHold: (lot: string, isPlaced: boolean) => `Lot ${lot}: legal hold ${isPlaced ? 'placed' : 'lifted'}.`,
  redacted: (sha256: string) => `The bytes of ${sha256} are gone. Backups made before still hold them.`,
  looked: (files: number, faults: number) =>
    `${files} files looked at: ${faults === 0 ? 'all as they were stored' : `${faults} faults`}.`,
  fault: (what: string, name: string, says: string) =>
    `${trailSubjectText({ kind: what, key: name, revision: null })}: ${says}`,
  unreferenced: (files: number) => `${files} files that nothing names; they are left alone.`,
};

/** Of the command on how long records are kept. */
export const RETENTION_LINES = {
  lot: (lot: string) => `Lot ${lot}`,
  trail: HEADS.auditTrail,
  kept: (what: string, until: string | null, rule: string) =>
    `${what}: kept ${until === null ? 'without end' : `until ${until}`} (${rule})`,
  /** @param until null where the rule does not apply, or has no end. */
  rule: (rule: string, until: string | null, says: string, source: string) =>
    `${rule}: ${until === null ? '' : `until ${until}, `}${says} (${source})`,
  noEnd: ABSENT.noEnd,
};

/** A head as a mail or a file that a witness keeps, with what to do with it. */
export const headMail = (
  line: string,
  {
    origin,
    size,
    at,
    to,
  }: { readonly origin: string; readonly size: number; readonly at: string; readonly to?: string },
): string =>
  [
    ...(to === undefined ? [] : [`To: ${to}`]),
    `Subject: Head of the audit trail ${origin}, ${size} entries`,
    'Content-Type: text/plain; charset=us-ascii',
    '',
    'Please keep this line where those who run the cell cannot write it anew:',
    '',
    line,
    '',
    `It is the signed head of an audit trail with ${size} entries, as of ${at}. It tells nothing of what they say.`,
    'With it anybody shows later that the audit trail has only grown since:',
    '',
    `  lotwright ledger verify --head "${line}"`,
    '',
  ].join('\n');

/** Of the command that proves the audit trail. */
export const LEDGER_LINES = {
  holds: (entries: number, root: string | null) => `The audit trail holds: ${entries} entries, root ${root}`,
  rows: (rows: number) => `${rows} stored rows are as they were recorded.`,
  laterTypes: (types: readonly string[]) => `Entries of types that only a later version knows: ${types.join(', ')}.`,
  doesNotHold: (reason: string) => `The audit trail does not hold: ${reason}`,
  files: (files: number) => `${files} files were hashed again: evidence, records, archives of raw rows.`,
  dropped: (folder: string, size: number) =>
    `The head of ${size} entries lies in ${folder}; every check compares with it.`,
  stamped: (authority: string, at: string, size: number) =>
    `The head of ${size} entries was stamped by ${authority} at ${at}; every check compares with it.`,
  authority: (address: string | undefined) =>
    address === undefined
      ? 'No authority stamps heads any more.'
      : `${address} stamps heads from now on: ledger head --stamp.`,
  fault: (seq: number | null, subject: string, says: string) =>
    `${seq === null ? '' : `entry ${seq}, `}${subject}: ${says}`,
  more: (more: number) => `and ${more} more`,
  head: (size: number, says: string) => `Head of ${size} entries: ${says}.`,
  cosigner: (name: string, key: string) => `Also signed by ${name} (key ${key}); that key is not known here.`,
};
