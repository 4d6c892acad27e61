import { createHash } from 'node:crypto';
import type { z } from 'zod';
import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { CertificateProfile } from '../kinds/certificate-profile.js';
import { DECIMAL } from '../kinds/fields.js';
import { CertificateLine, type Receipt } from '../kinds/receipt.js';
import { type CertificateRow, rowsOf } from './certificate-rows.js';
import { decimalOf } from './declared-text.js';
import { readWhole } from './folder.js';
import { bodyIf, type Known } from './known.js';
import type { ReadFolder, SiteDocument } from './read-folder.js';
import type { ReadDocument } from './yaml-document.js';

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
  const heats = heatProblems(document, receipt, profile);
  const bytes = heats.length === 0 ? readWhole(file, MOST.certificateBytes, problems) : undefined;
  problems.push(...heats);
  if (bytes === undefined) return item;
  try {
    const said = readCertificate(file.name, bytes, profile, receipt);
    const typed = receipt.certificate.lines;
    const differing = typed.length > 0 ? differences(typed, said) : [];
    const lines = said.map((line) => withSampling(line, typed));
    problems.push(
      ...differing.map(({ at, found, expected }) => ({
        ...{ code: 'certificate-differs', file: document.file, line: document.lineOf(at), field: at, found },
        ...{ expected: `${expected}, as ${file.name} says`, remedy: 'correct the line, or leave the lines out' },
      })),
    );
    const certificate: Certificate = { ...receipt.certificate, lines };
    const written = { ...(document.written as Receipt), certificate };
    // What is kept has to be what was read.
    const read = { ...file, sha256: createHash('sha256').update(bytes).digest('hex') };
    return {
      document: { ...document, written, body: { ...receipt, certificate } },
      files: files.map((one) => (one === file ? read : one)),
    };
  } catch (error) {
    if (!(error instanceof BadInputError)) throw error;
    problems.push(...error.problems);
    return item;
  }
}

/** Lines of a receipt are of all that came with it: by heat they can only be read where that is one. */
function heatProblems({ file, lineOf }: ReadDocument, { heats }: Receipt, { identity, profile }: CertificateProfile) {
  if (heats.length === 1 || identity.every(({ is }) => is !== 'heat')) return [];
  const problem: Problem = {
    ...{ code: 'certificate-heats', file, line: lineOf('heats'), field: 'heats' },
    found: heats.length === 0 ? 'no heat' : `${heats.length} heats: ${heats.slice(0, 5).join(', ')}`,
    expected: `one heat, since certificate profile ${profile} knows the rows of a receipt by their heat`,
    remedy:
      heats.length === 0 ? 'name its heat' : 'make a receipt of each heat, with the same file: each reads its own rows',
  };
  return [problem];
}

/** What of a line has to be the same in the file, beside its value and unit: all that a profile can read. */
const OTHER_FIELDS = (Object.keys(CertificateLine.shape) as (keyof Line)[]).filter(
  (field) => !['property', 'value', 'ucum', 'sampling'].includes(field),
);
/** These are the same number in whatever digits: a standard uncertainty may have been divided out. */
const NUMBERS: ReadonlySet<keyof Line> = new Set(['uncertainty', 'detectionLimit', 'coverageFactor']);

/** Where lines that somebody wrote say something else than those of the file, or what it does not say. */
function differences(written: readonly Line[], read: readonly Line[]) {
  const said = ({ value, ucum }: Line) => `${value} ${ucum}`;
  return [
    ...written.flatMap((one, index) => {
      const at = `certificate.lines[${index}]`;
      const other = read.find(({ property }) => property === one.property);
      if (other === undefined) return [{ at: `${at}.property`, found: one.property, expected: 'no such property' }];
      const isSame = said(other) === said(one);
      return [
        ...(isSame ? [] : [{ at: `${at}.value`, found: said(one), expected: `${said(other)} (line ${other.line})` }]),
        ...OTHER_FIELDS.filter((field) => !agrees(one, other, field)).map((field) => ({
          ...{ at: `${at}.${field}`, found: String(one[field]), expected: `${other[field] ?? 'nothing'}` },
        })),
      ];
    }),
    ...read
      .filter(({ property }) => written.every((one) => one.property !== property))
      .map((other) => ({
        ...{ at: 'certificate.lines', found: `no ${other.property}`, expected: `${said(other)} (line ${other.line})` },
      })),
  ];
}

/** What somebody left out is taken from the file. */
function agrees(written: Line, read: Line, field: keyof Line): boolean {
  const [one, other] = [written[field], read[field]];
  return one === undefined || one === other || (NUMBERS.has(field) && Number(one) === Number(other));
}

/** No profile reads how a sample was taken: what somebody wrote of it stays. */
function withSampling(line: Line, written: readonly Line[]): Line {
  const sampling = written.find(({ property }) => property === line.property)?.sampling;
  return sampling === undefined ? line : { ...line, sampling };
}

/**
 * The lines of a certificate by its profile, each with the line of the file that says it. Only rows that plainly are of
 * something else are passed by.
 * @throws BadInputError with the line of each value that does not fit: a property, unit or number that is none of the profile,
 *   a property twice, one that is missing, a row that does not plainly say of what it is, and a file of another certificate.
 */
export function readCertificate(
  file: string,
  bytes: Uint8Array,
  profile: CertificateProfile,
  receipt: Pick<Receipt, 'heats' | 'supplierLot'> & { readonly certificate?: Pick<Certificate, 'number'> | undefined },
): Line[] {
  const { headLine, rows, units } = rowsOf(file, bytes, profile);
  const problems: Problem[] = [];
  const tell = (line: number, field: string, found: string, expected: string) => {
    if (problems.length < MOST.problemsOfFile)
      problems.push({ code: 'certificate', file, line, field, found, expected, remedy: REMEDY });
  };
  const own = rows.filter((row) => isOwn(row, profile, receipt, (...told) => tell(row.line, ...told)));
  if (own.length === 0 && problems.length === 0) {
    const [{ column }] = profile.identity as [CertificateProfile['identity'][0]];
    const found = [...new Set(rows.map((row) => row.cell(column) ?? 'nothing'))].slice(0, 5).join(', ') || 'no row';
    tell(headLine, column, found, expectedOf(profile, receipt));
  }
  const lines: Line[] = [];
  for (const row of own) {
    for (const stated of statedIn(row, profile, units)) {
      const line = lineOf(stated, profile, tell);
      if (line === undefined) continue;
      const first = lines.find(({ property }) => property === line.property);
      if (first) tell(row.line, stated.fields.property, line.property, `it once: line ${first.line} says it too`);
      else lines.push(line);
    }
  }
  if (problems.length === 0) {
    for (const { name, property, need } of profile.properties) {
      if (need !== 'always' || lines.some((one) => one.property === property)) continue;
      const expected = 'every property that the profile always asks for';
      tell(headLine, profile.columns?.property ?? name, `no ${name}`, expected);
    }
  }
  if (problems.length > 0) throw new BadInputError(problems);
  return lines;
}

type Is = CertificateProfile['identity'][0]['is'];
type Of = Parameters<typeof readCertificate>[3];

const ownOf = (is: Is, { certificate, heats, supplierLot }: Of): string | undefined => {
  if (is === 'heat') return heats.length === 1 ? heats[0] : undefined;
  return is === 'certificate' ? certificate?.number : supplierLot;
};

/** Whether a row is of the receipt. What may be meant to be, and says so otherwise or not at all, is told. */
function isOwn(row: CertificateRow, profile: CertificateProfile, receipt: Of, tell: TellField): boolean {
  const { identity, columns, properties } = profile;
  const isEmpty = (column: string) => (row.cell(column) ?? '') === '';
  const parts = identity.map(({ column, is }) => {
    const [said, own] = [row.cell(column) ?? '', ownOf(is, receipt)];
    return { column, is, said, own, isSame: said !== '' && said === own };
  });
  if (parts.every(({ isSame }) => isSame)) return true;
  // A remark below the rows says nothing of a property.
  const says = columns ? [columns.property, columns.value] : properties.map(({ name }) => name);
  if (says.every(isEmpty)) return false;
  const isOther = parts.some(({ said, own }) => said !== '' && !isAlike(said, own));
  for (const { column, is, said, own, isSame } of parts) {
    if (isSame || (said !== '' && (isOther || !isAlike(said, own)))) continue;
    const expected = `${is} ${own}, letter by letter, or another ${is}`;
    tell(column, said || 'nothing', expected);
  }
  return false;
}

/** What people take for the same name: with other spaces, dashes, or large and small letters. */
const folded = (name: string): string =>
  name
    .normalize('NFKC')
    .replace(/[\s\p{Cf}]/gu, '')
    .replace(/\p{Pd}/gu, '-')
    .toLowerCase();

const isAlike = (said: string, own: string | undefined): boolean => own !== undefined && folded(said) === folded(own);

const expectedOf = ({ identity }: CertificateProfile, { certificate, heats, supplierLot }: Of): string =>
  identity
    .map(({ is }) => {
      if (is === 'heat') return `heat ${heats.join(' or ')}`;
      return is === 'certificate' ? `certificate ${certificate?.number}` : `supplier lot ${supplierLot}`;
    })
    .join(', ');

type TellField = (field: string, found: string, expected: string) => void;
type Tell = (line: number, ...told: Parameters<TellField>) => void;

type Part = 'property' | 'value' | 'unit' | 'uncertainty' | 'coverageFactor' | 'detectionLimit' | 'method';

/** What a file says of one property, and in which columns. */
interface Stated {
  readonly line: number;
  /** Of the line that says the unit. */
  readonly unitLine: number;
  readonly fields: { readonly property: string; readonly value: string; readonly unit: string } & {
    readonly [Other in Part]?: string | undefined;
  };
  /** Undefined where no column says it. */
  said(part: Part): string | undefined;
  /** Below the name of its column, where the file has a line of units and states an uncertainty. */
  readonly uncertaintyUnit?: string | undefined;
  /** Where each property has a column of its own. */
  readonly column?: string;
}

/** What a row says: one value, or that of each property that has a column. */
function statedIn(row: CertificateRow, profile: CertificateProfile, units: CertificateRow | undefined): Stated[] {
  const { columns, propertyColumns, properties } = profile;
  if (columns !== undefined) {
    const said = (part: Part) => {
      const column = columns[part];
      return column === undefined ? undefined : row.cell(column);
    };
    return [{ line: row.line, unitLine: row.line, fields: columns, said }];
  }
  const { uncertainties = [], coverageFactor, method } = propertyColumns!;
  return properties.flatMap(({ name }): Stated[] => {
    const uncertainty = uncertainties.find(({ of }) => of === name)?.column;
    const fields = { property: name, value: name, unit: name, uncertainty, coverageFactor, method };
    const said = (part: Part): string | undefined => {
      if (part === 'property') return name;
      if (part === 'unit') return units?.cell(name);
      // A factor that no uncertainty needs says nothing of this value.
      if (part === 'coverageFactor' && (uncertainty === undefined || !row.cell(uncertainty))) return undefined;
      const column = part === 'detectionLimit' ? undefined : fields[part];
      return column === undefined ? undefined : row.cell(column);
    };
    const hasSpread = (said('uncertainty') ?? '') !== '';
    if (!hasSpread && (said('value') ?? '') === '') return [];
    const uncertaintyUnit = hasSpread && units !== undefined ? (units.cell(uncertainty!) ?? '') : undefined;
    return [{ line: row.line, unitLine: units?.line ?? row.line, fields, said, uncertaintyUnit, column: name }];
  });
}

function lineOf(stated: Stated, profile: CertificateProfile, tell: Tell) {
  const { line, unitLine, fields, said, uncertaintyUnit, column } = stated;
  const name = said('property') ?? '';
  const known = profile.properties.find((one) => one.name === name);
  if (known === undefined) {
    tell(line, fields.property, name || 'nothing', 'a property that the profile names');
    return undefined;
  }
  const unit = said('unit') ?? '';
  if (known.unit !== undefined && unit !== known.unit) {
    tell(unitLine, fields.unit, unit || 'nothing', `${known.unit}, as the profile has it for ${name}`);
    return undefined;
  }
  // One in per cent of the value would read as one in its unit.
  if (uncertaintyUnit !== undefined && uncertaintyUnit !== unit) {
    tell(unitLine, fields.uncertainty!, uncertaintyUnit || 'nothing', `${unit}, the unit of ${name}`);
    return undefined;
  }
  const number = (part: Part) => {
    const text = said(part);
    return text === undefined || text === '' ? undefined : decimalOf(text, profile.decimal);
  };
  const [spread, detectionLimit] = [number('uncertainty'), number('detectionLimit')];
  const factor = number('coverageFactor') ?? profile.uncertainty?.coverageFactor;
  const method = said('method');
  const isExpanded = spread !== undefined && profile.uncertainty?.is === 'expanded';
  if (isExpanded && !(Number(factor) > 0)) {
    const field = fields.coverageFactor ?? fields.uncertainty!;
    tell(line, field, said('coverageFactor') || 'nothing', 'its coverage factor');
    return undefined;
  }
  const read = CertificateLine.safeParse({
    ...{ property: known.property, value: decimalOf(said('value') ?? '', profile.decimal), ucum: known.ucum },
    ...(spread === undefined ? {} : { uncertainty: isExpanded ? divided(spread, factor!) : spread }),
    ...(isExpanded ? { coverageFactor: factor } : {}),
    ...(detectionLimit === undefined ? {} : { detectionLimit }),
    ...(method === undefined || method === '' ? {} : { method }),
    ...{ line, ...(column === undefined ? {} : { column }) },
  });
  if (read.success) return read.data;
  for (const { path, message } of read.error.issues) {
    const part = path[0] as Part;
    tell(line, fields[part] ?? String(part), said(part) || 'nothing', message);
  }
  return undefined;
}

/** The standard uncertainty of an expanded one; what is no number stays as it is, and is refused as such. */
function divided(expanded: string, factor: string): string {
  if (!DECIMAL.test(expanded)) return expanded;
  const standard = Number(expanded) / Number(factor);
  return Number.isFinite(standard) ? String(Number(standard.toPrecision(DIGITS))) : expanded;
}
