import { askedByCode } from '../base/element-strings/asked-by-code.js';
import { ALL_KINDS, type KindName } from '../kinds/catalogue.js';
import type { IdentifierUse } from '../report/phrases/identifiers.js';
import type { Reads } from '../store/repositories.js';

/** Everything that an identifier can be, in one table, for the page, the command and programs alike (docs/trace.md). */

/** Something that an identifier leads to. */
export interface Identified {
  readonly id?: number;
  readonly kind: string;
  readonly key: string;
  /** What of it the identifier is; null where it is its own key. */
  readonly as: { readonly use: IdentifierUse; readonly detail: string } | null;
  /** The one revision of it that was asked for. */
  readonly revision?: number;
  /** The lot of which a scanned code says that it is. */
  readonly saidLot?: string | undefined;
  /** The device identifier that a scanned code has. */
  readonly saidDevice?: string | undefined;
}

interface Asked {
  readonly read: Reads;
  readonly text: string;
  /** The last entry of the audit trail that counts. */
  readonly asOf: number | undefined;
  readonly now: Date;
  /** Findings of release checks in what is said of lots now. */
  readonly checkFindings: () => Promise<readonly { readonly lot: string; readonly id: string }[]>;
}

/** One way in which an identifier names something. */
interface Way {
  readonly way: 'key' | 'revision' | 'field' | 'digest, file, record or program' | 'check finding' | 'scanned code';
  /** Asked only where no way before it found something. */
  readonly last?: true;
  find(asked: Asked): Promise<readonly Identified[]>;
}

/** Fields that hold a name which others gave to the thing or to a paper on it. */
const NAMES_IN_FIELDS: Partial<Readonly<Record<KindName, Readonly<Record<string, IdentifierUse>>>>> = {
  receipt: { supplierLot: 'lot at the supplier', labelLot: 'lot on the label', 'certificate.number': 'certificate' },
  instrument: { 'calibrations[].certificate': 'calibration certificate' },
  family: { udiDi: 'device identifier', 'bodyCertificate.number': 'certificate' },
  'route-permission': { number: 'number at the authority' },
  'process-validation': {
    'installation.report': 'report',
    'operation.report': 'report',
    'performance.report': 'report',
  },
  'equivalence-study': { report: 'report' },
};

export const WAYS: readonly Way[] = [
  { way: 'key', find: ({ read, text, asOf }) => byKey(read, text, asOf) },
  { way: 'revision', find: byRevision },
  { way: 'field', find: byField },
  { way: 'digest, file, record or program', find: byRow },
  { way: 'check finding', last: true, find: byCheckFinding },
  { way: 'scanned code', last: true, find: byCode },
];

/** Everything that an identifier names, each thing once, its own key before all else; after `kind:` those of that kind. */
export async function identify(asked: Asked): Promise<readonly Identified[]> {
  const kind = asked.text.slice(0, Math.max(0, asked.text.indexOf(':')));
  if (!ALL_KINDS.some((known) => known.kind === kind)) return named(asked);
  return (await named({ ...asked, text: asked.text.slice(kind.length + 1) })).filter((one) => one.kind === kind);
}

async function named(asked: Asked): Promise<readonly Identified[]> {
  const found: Identified[] = [];
  for (const { last, find } of WAYS) {
    if (last === true && found.length > 0) break;
    for (const one of await find(asked)) {
      if (!found.some(({ kind, key }) => kind === one.kind && key === one.key)) found.push(one);
    }
  }
  return found;
}

async function byKey(read: Reads, key: string, asOf: number | undefined): Promise<Identified[]> {
  return (await read.trace.named(key, asOf)).map((one) => ({ ...one, as: null }));
}

/** `R-1 rev 2`, `R-1, revision 2` */
const WITH_REVISION = /^(.+?),?\s+rev(?:ision)?\.?\s*(\d{1,6})$/i;

async function byRevision({ read, text, asOf = Number.POSITIVE_INFINITY }: Asked): Promise<Identified[]> {
  const [, key, digits] = WITH_REVISION.exec(text) ?? [];
  if (key === undefined) return [];
  const revision = Number(digits);
  const found: Identified[] = [];
  for (const { id, kind, key: own } of await read.trace.named(key)) {
    const stored = await read.entries.revision(kind, own, revision);
    if (stored === undefined || stored.ledgerSeq > asOf) continue;
    found.push({ id, kind, key: own, revision, as: { use: 'revision', detail: String(revision) } });
  }
  return found;
}

async function byField({ read, text, asOf = Number.POSITIVE_INFINITY }: Asked): Promise<Identified[]> {
  const rows = await read.identified.holding(Object.keys(NAMES_IN_FIELDS), text);
  return rows.flatMap(({ kind, key, body, ledgerSeq }) => {
    const fields = NAMES_IN_FIELDS[kind as KindName] ?? {};
    const [, use] = Object.entries(fields).find(([place]) => valuesAt(body(), place).includes(text)) ?? [];
    return use === undefined || ledgerSeq > asOf ? [] : [{ kind, key, as: { use, detail: text } }];
  });
}

/** Values at a place in a document, such as `calibrations[].certificate`. */
function valuesAt(body: unknown, place: string): unknown[] {
  let values: unknown[] = [body];
  for (const step of place.split('.')) {
    const name = step.replace('[]', '');
    values = values.flatMap((value) => (value as Record<string, unknown> | undefined)?.[name] ?? []);
  }
  return values;
}

async function byRow({ read, text, asOf = Number.POSITIVE_INFINITY }: Asked): Promise<Identified[]> {
  const rows = await read.identified.by(text);
  return rows.flatMap(({ as: use, kind, key, detail, ledgerSeq }) =>
    ledgerSeq > asOf ? [] : [{ kind, key, as: { use, detail } }],
  );
}

/** Identities of findings are digests, told by their first digits. */
const FIRST_DIGITS = /^[0-9a-f]{8,64}$/i;

async function byCheckFinding({ text, asOf, checkFindings }: Asked): Promise<Identified[]> {
  if (asOf !== undefined || !FIRST_DIGITS.test(text)) return [];
  const found = (await checkFindings()).filter(({ id }) => id.startsWith(text.toLowerCase()));
  return found.map(({ lot, id }) => ({ kind: 'lot', key: lot, as: { use: 'check finding', detail: id } }));
}

/** @throws AppError BAD_INPUT for a code that breaks its grammar. */
async function byCode({ read, text, asOf, now }: Asked): Promise<Identified[]> {
  const { id, lot, gtin } = askedByCode(text, now.getUTCFullYear());
  return id === text ? [] : (await byKey(read, id, asOf)).map((one) => ({ ...one, saidLot: lot, saidDevice: gtin }));
}
