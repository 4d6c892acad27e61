import fs from 'node:fs';
import type { z } from 'zod';
import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { CertificateProfile } from '../kinds/certificate-profile.js';
import { CertificateLine, type Receipt } from '../kinds/receipt.js';
import { type CertificateRow, rowsOf } from './certificate-rows.js';
import { bodyIf, type Known } from './known.js';
import type { ReadFolder, SiteDocument } from './read-folder.js';

type Line = z.infer<typeof CertificateLine>;
type Certificate = NonNullable<Receipt['certificate']>;

/** So many digits of a standard uncertainty that was divided out of an expanded one. */
const DIGITS = 9;
const REMEDY = 'ask the supplier for the certificate as it always was, or correct the profile; nothing is guessed';

/**
 * The folder with the lines of certificates that a receipt has read by a profile.
 * @throws BadInputError with everything that is wrong in the files, and with lines of a receipt that say something else than its file.
 */
export async function withReadCertificates(read: ReadFolder, known: Known): Promise<ReadFolder> {
  const problems: Problem[] = [];
  const site: SiteDocument[] = [];
  for (const item of read.site) site.push(await withLines(item, known, problems));
  if (problems.length > 0) throw new BadInputError(problems);
  return { ...read, site };
}

async function withLines(item: SiteDocument, known: Known, problems: Problem[]): Promise<SiteDocument> {
  const { document, files } = item;
  const receipt = bodyIf('receipt', document);
  const readBy = receipt?.certificate?.readBy;
  const file = files.find(({ field }) => field === 'certificate.file');
  if (!receipt?.certificate || readBy === undefined || file === undefined) return item;
  const profile = await known.body('certificate-profile', readBy.profile, readBy.revision);
  // One that nobody knows is a problem of its own, found with the references.
  if (profile === undefined) return item;
  try {
    if (fs.statSync(file.path).size > MOST.certificateBytes) throw new BadInputError([tooLong(file.name)]);
    const lines = readCertificate(file.name, fs.readFileSync(file.path), profile, receipt);
    const differing = receipt.certificate.lines.length > 0 ? differences(receipt.certificate.lines, lines) : [];
    problems.push(
      ...differing.map(({ at, found, expected }) => ({
        ...{ code: 'certificate-differs', file: document.file, line: document.lineOf(at), field: at, found },
        ...{ expected: `${expected}, as ${file.name} says`, remedy: 'correct the line, or leave the lines out' },
      })),
    );
    const certificate: Certificate = { ...receipt.certificate, lines };
    const written = { ...(document.written as Receipt), certificate };
    return { ...item, document: { ...document, written, body: { ...receipt, certificate } } };
  } catch (error) {
    if (!(error instanceof BadInputError)) throw error;
    problems.push(...error.problems);
    return item;
  }
}

const tooLong = (file: string): Problem => ({
  ...{ code: 'too-large', file, found: `more than ${MOST.certificateBytes} bytes` },
  ...{ expected: `at most ${MOST.certificateBytes}`, remedy: 'transcribe its lines, and attach it without a profile' },
});

/** Where lines that somebody wrote say something else than those of the file. */
function differences(written: readonly Line[], read: readonly Line[]) {
  const said = ({ value, ucum }: Line) => `${value} ${ucum}`;
  return [
    ...written.flatMap((one, index) => {
      const at = `certificate.lines[${index}]`;
      const other = read.find(({ property }) => property === one.property);
      if (other === undefined) return [{ at: `${at}.property`, found: one.property, expected: 'no such property' }];
      if (said(other) === said(one)) return [];
      return [{ at: `${at}.value`, found: said(one), expected: `${said(other)} (line ${other.line})` }];
    }),
    ...read
      .filter(({ property }) => written.every((one) => one.property !== property))
      .map((other) => ({
        ...{ at: 'certificate.lines', found: `no ${other.property}`, expected: `${said(other)} (line ${other.line})` },
      })),
  ];
}

/**
 * The lines of a certificate by its profile, each with the line of the file that says it.
 * @throws BadInputError with the line of each value that does not fit: a property, unit or number that is none of the profile,
 *   a property twice, one that is missing, and a file of another certificate.
 */
export function readCertificate(
  file: string,
  bytes: Uint8Array,
  profile: CertificateProfile,
  receipt: Pick<Receipt, 'heats' | 'supplierLot'> & { readonly certificate?: Pick<Certificate, 'number'> | undefined },
): Line[] {
  const { headLine, rows } = rowsOf(file, bytes, profile);
  const problems: Problem[] = [];
  const tell = (line: number, field: string, found: string, expected: string) => {
    if (problems.length < MOST.problemsOfFile)
      problems.push({ code: 'certificate', file, line, field, found, expected, remedy: REMEDY });
  };
  const own = rows.filter((row) => profile.identity.every(({ column, is }) => isOf(row.cell(column), is, receipt)));
  if (own.length === 0) {
    const [{ column }] = profile.identity as [CertificateProfile['identity'][0]];
    const found = [...new Set(rows.map((row) => row.cell(column) ?? 'nothing'))].slice(0, 5).join(', ') || 'no row';
    tell(headLine, column, found, expectedOf(profile, receipt));
  }
  const lines: Line[] = [];
  for (const row of own) {
    const line = lineOf(row, profile, (...told) => tell(row.line, ...told));
    if (line === undefined) continue;
    const first = lines.find(({ property }) => property === line.property);
    if (first) tell(row.line, profile.columns.property, line.property, `it once: line ${first.line} says it too`);
    else lines.push(line);
  }
  if (problems.length === 0) {
    for (const { name, property, need } of profile.properties) {
      if (need === 'always' && lines.every((one) => one.property !== property))
        tell(headLine, profile.columns.property, `no ${name}`, 'every property that the profile always asks for');
    }
  }
  if (problems.length > 0) throw new BadInputError(problems);
  return lines;
}

type Identity = CertificateProfile['identity'][0]['is'];
type Of = Parameters<typeof readCertificate>[3];

function isOf(said: string | undefined, is: Identity, { certificate, heats, supplierLot }: Of): boolean {
  if (said === undefined || said === '') return false;
  if (is === 'heat') return heats.includes(said);
  return said === (is === 'certificate' ? certificate?.number : supplierLot);
}

const expectedOf = ({ identity }: CertificateProfile, { certificate, heats, supplierLot }: Of): string =>
  identity
    .map(({ is }) => {
      if (is === 'heat') return `heat ${heats.join(' or ')}`;
      return is === 'certificate' ? `certificate ${certificate?.number}` : `supplier lot ${supplierLot}`;
    })
    .join(', ');

type Tell = (field: string, found: string, expected: string) => void;

function lineOf(row: CertificateRow, profile: CertificateProfile, tell: Tell): Line | undefined {
  const { columns } = profile;
  const cell = (column: string | undefined) => (column === undefined ? undefined : row.cell(column));
  const name = cell(columns.property) ?? '';
  const known = profile.properties.find((one) => one.name === name);
  if (known === undefined) {
    tell(columns.property, name || 'nothing', 'a property that the profile names');
    return undefined;
  }
  const unit = cell(columns.unit) ?? '';
  if (unit !== known.unit) {
    tell(columns.unit, unit || 'nothing', `${known.unit}, as the profile has it for ${name}`);
    return undefined;
  }
  const number = (column: string | undefined) => {
    const text = cell(column);
    return text === undefined || text === '' ? undefined : decimalOf(text, profile.decimal);
  };
  const [stated, detectionLimit] = [number(columns.uncertainty), number(columns.detectionLimit)];
  const factor = number(columns.coverageFactor) ?? profile.uncertainty?.coverageFactor;
  const method = cell(columns.method);
  const isExpanded = stated !== undefined && profile.uncertainty?.is === 'expanded';
  if (isExpanded && !(Number(factor) > 0)) {
    tell(
      columns.coverageFactor ?? columns.uncertainty!,
      cell(columns.coverageFactor) || 'nothing',
      'its coverage factor',
    );
    return undefined;
  }
  const read = CertificateLine.safeParse({
    ...{ property: known.property, value: decimalOf(cell(columns.value) ?? '', profile.decimal), ucum: known.ucum },
    ...(stated === undefined ? {} : { uncertainty: isExpanded ? divided(stated, factor!) : stated }),
    ...(isExpanded ? { coverageFactor: factor } : {}),
    ...(detectionLimit === undefined ? {} : { detectionLimit }),
    ...(method === undefined || method === '' ? {} : { method }),
    line: row.line,
  });
  if (read.success) return read.data;
  for (const { path, message } of read.error.issues) {
    const field = String(path[0]);
    const column = columns[field as keyof typeof columns] ?? field;
    tell(column, row.cell(column) || 'nothing', message);
  }
  return undefined;
}

/** With a point. What has the other sign too may be thousands: it stays as it is, and is refused as no number. */
function decimalOf(text: string, decimal: CertificateProfile['decimal']): string {
  if (decimal === 'point') return text;
  return text.includes('.') ? text.replaceAll('.', ' ') : text.replace(',', '.');
}

/** The standard uncertainty of an expanded one; what is no number stays as it is, and is refused as such. */
function divided(expanded: string, factor: string): string {
  const standard = Number(expanded) / Number(factor);
  return Number.isFinite(standard) ? String(Number(standard.toPrecision(DIGITS))) : expanded;
}
