import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { revisionKey } from '../dossier/facts.js';
import { certificateSubject, qualificationSubject, receiptSubject, revisionSubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import { kindNamed } from '../kinds/catalogue.js';
import type { Receipt } from '../kinds/receipt.js';
import type { Doers } from '../people/authority.js';
import { findAddress, lotAddress } from '../report/page-addresses.js';
import { kindText } from '../report/phrases/kinds.js';
import { SHOWN, THINGS } from '../report/phrases/things.js';
import { powderUseText, receiptStatusText } from '../report/phrases/trade-codes.js';
import type { StoredRevision } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';
import type { Signable } from './signable.js';
import type { Thing } from './thing.js';

/** Documents that are signed, as they stand, and what each shows. All throw NotFoundError when there is no such thing. */

const MOST_SHOWN = 12;

export async function documentToSign(read: Reads, { kind, key, revision }: Thing): Promise<Signable> {
  const found = await revisionOf(read, kind, key, revision);
  return {
    subject: revisionSubject(found),
    title: THINGS.document(found),
    lot: null,
    ofCase: kindNamed(kind)?.caseOf?.(found.body),
    shows: [[SHOWN.name, found.name], [SHOWN.takenIn, timeText(found.recordedAt)], ...topFields(found.body)],
    page: findAddress(key),
    doers: doersOf(found.body),
  };
}

/** Whoever wrote down what somebody outside said, and whoever ran a load. */
const doersOf = (body: unknown): Doers => {
  const entered = Entered.safeParse(body).data;
  if (entered) return { enterer: [entered.enteredBy] };
  const run = Run.safeParse(body).data;
  return run ? { runner: [run.by] } : {};
};

const Entered = z.object({ kind: z.literal('design-acceptance'), enteredBy: z.string() });
const Run = z.object({ kind: z.literal('process-load'), by: z.string() });

/** Whatever else an acceptance covers. */
function receivedAs({ heats, expiry, materialSpecification, labelLot, state, container }: Receipt): [string, string][] {
  const to = materialSpecification;
  const said: [string, string | undefined][] = [
    [SHOWN.heats, heats.length === 0 ? undefined : heats.join(', ')],
    [SHOWN.expiry, expiry],
    [SHOWN.toSpecification, to && revisionKey(to.material, to.revision)],
    [SHOWN.labelLot, labelLot],
    [SHOWN.state, state && powderUseText(state)],
    [SHOWN.container, container && SHOWN.containerSays(container)],
  ];
  return said.flatMap(([name, value]): [string, string][] => (value === undefined ? [] : [[name, value]]));
}

export async function receiptToSign(read: Reads, { kind, key }: Thing): Promise<Signable> {
  const found = await revisionOf(read, 'receipt', key, null);
  const { body } = found;
  const subject = kind === 'receipt' ? receiptSubject(body) : certificateSubject(body);
  if (!subject) throw new NotFoundError('certificate of receipt', key);
  const lines = body.certificate?.lines ?? [];
  return {
    subject,
    title: kind === 'receipt' ? THINGS.receipt(key) : THINGS.certificate(body.certificate!.number, key),
    lot: null,
    shows: [
      [SHOWN.material, SHOWN.supplied(body)],
      [SHOWN.status, receiptStatusText(body.status)],
      ...receivedAs(body),
      ...lines.map((line): [string, string] => [line.property, SHOWN.certified(line)]),
      [SHOWN.transcribedBy, body.certificate?.transcribedBy ?? SHOWN.noCertificate],
    ],
    page: findAddress(key),
    doers: { transcriber: body.certificate ? [body.certificate.transcribedBy] : [] },
    ...(kind === 'receipt' && body.status === 'quarantine'
      ? { refused: { code: 'in quarantine' as const, facts: { receipt: key } } }
      : {}),
  };
}

export async function qualificationToSign(read: Reads, { key, digest }: Thing): Promise<Signable> {
  const [code = '', ...rest] = key.split(':');
  const operation = rest.join(':');
  const found = await revisionOf(read, 'person', code, null);
  const { name, qualifications } = found.body;
  const own = qualifications
    .filter((item) => item.operation === operation)
    .map((item) => ({ item, subject: qualificationSubject(code, item) }));
  const chosen = own.find(({ subject }) => subject.digest === digest) ?? own.at(-1);
  if (!chosen) throw new NotFoundError('qualification', key);
  const { from, to, evidence } = chosen.item;
  return {
    subject: chosen.subject,
    title: THINGS.qualification(name, code, operation),
    lot: null,
    shows: [
      [SHOWN.operation, operation],
      [SHOWN.from, from],
      [SHOWN.to, to ?? SHOWN.noEnd],
      [SHOWN.evidence, evidence ?? SHOWN.noEvidence],
    ],
    page: findAddress(code),
    doers: { self: [code] },
  };
}

export async function resultSheetToSign(read: Reads, { key, revision, digest }: Thing): Promise<Signable> {
  const all = await read.entries.revisions('result-set', key);
  const found =
    all.find((item) => (digest === null ? item.revision === revision : item.digest === digest)) ?? all.at(-1);
  if (!found) throw new NotFoundError('result set', key);
  const { lot, file, evidence } = found.body;
  const rows = (await read.results.ofLot(lot)).rows.filter((row) => row.evidence === evidence);
  const names = (values: readonly string[]) => [...new Set(values)].filter((value) => value !== '').sort();
  return {
    subject: revisionSubject(found),
    title: THINGS.resultSheet(lot, file),
    lot,
    shows: [
      [SHOWN.values, String(rows.length)],
      [SHOWN.analysts, names(rows.map((row) => row.analyst)).join(', ')],
      [SHOWN.typedBy, names(rows.map((row) => row.enteredBy)).join(', ') || SHOWN.nobodyTyped],
      [SHOWN.instruments, names(rows.map((row) => row.instrument)).join(', ')],
      ...rows
        .slice(0, MOST_SHOWN)
        .map((row): [string, string] => [
          `${row.specimen} ${row.characteristic} ${row.replicate}`,
          `${row.reportedValue} ${row.reportedUcum}`,
        ]),
      ...(rows.length > MOST_SHOWN ? [[SHOWN.and, SHOWN.more(rows.length - MOST_SHOWN)] as const] : []),
    ],
    page: lotAddress(lot, 'tests'),
    doers: { typist: names(rows.map((row) => row.enteredBy)) },
    analysts: names(rows.map((row) => row.analyst)),
  };
}

async function revisionOf<K extends string>(
  read: Reads,
  kind: K,
  key: string,
  revision: number | null,
): Promise<StoredRevision<K>> {
  const found =
    revision === null ? await read.entries.current(kind, key) : await read.entries.revision(kind, key, revision);
  if (!found) throw new NotFoundError(kindText(kind), revision === null ? key : `${key} revision ${revision}`);
  return found;
}

/** Fields of a document that say something by themselves; the rest is on its page. */
function topFields(body: unknown): [string, string][] {
  const plain = (value: unknown): value is string | number => typeof value === 'string' || typeof value === 'number';
  return Object.entries(body ?? {})
    .filter(([name, value]) => plain(value) && !['kind', 'format', 'revision'].includes(name))
    .slice(0, MOST_SHOWN)
    .map(([name, value]) => [name, String(value)]);
}
