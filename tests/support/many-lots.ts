import Database from 'better-sqlite3';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { readFacts } from '../../src/dossier/facts.js';
import type { Dossier } from '../../src/dossier/schema.js';
import { soleSubject } from '../../src/dossier/statement.js';
import { historyRows } from '../../src/lots/history-rows.js';
import type { NewLink } from '../../src/store/entries.js';
import type { Change } from '../../src/store/repositories.js';
import type { NewResult } from '../../src/store/results.js';
import type { Cell } from './cell.js';
import { withPens } from './pens.js';
import { type Signer, signedBy } from './person-keys.js';
import type { Services } from './services.js';
import { SigningCell } from './signing-cell.js';

/** The lot of the small cell that the others are made after, with its build, its cases and the days on which it was made. */
const MODEL = { lot: 'L-1', build: 'M1-101', cases: 'K-101-', day: '2031-03-03', nextDay: '2031-03-04' } as const;
/** Lots of one change: the write door signs a head after each. */
const AT_ONCE = 50;
const DAY_MS = 86_400_000;

/** Code of an earlier lot: `L-00001` is the first. */
export const lotCode = (number: number): string => `L-${String(number).padStart(5, '0')}`;

/**
 * A data folder with many lots: one that was taken in, signed, reviewed and released by the services, and copies of it,
 * one a day before it, released too but for the last ones. Copies go through the write door, row by row as the services
 * write them, so that the audit trail holds against every row.
 * @param lots how many with the model; the model is `L-1`.
 * @param open how many copies nobody has decided on.
 * @param change what of the model is otherwise.
 */
export async function cellWithManyLots(
  lots: number,
  open: number,
  change?: (cell: Cell) => void,
): Promise<SigningCell> {
  const cell = await SigningCell.open(change);
  await cell.services.assessor.assess(MODEL.lot, 'local:tester');
  await cell.review(MODEL.lot);
  await cell.release(MODEL.lot, [`${MODEL.lot}-I1`, `${MODEL.lot}-I2`]);
  const copies = lots - 1;
  const model = await readModel(cell);
  const signers = model.statements.map(({ person }) => person.code);
  await withPens(cell.services, [...new Set(signers)], async (pens) => {
    for (let from = 1; from <= copies; from += AT_ONCE) {
      await cell.services.store.change('local:tester', async (change) => {
        for (let number = from; number < from + AT_ONCE && number <= copies; number++) {
          await writeCopy(change, cell.services, model, { number, copies, isOpen: number > copies - open, pens });
        }
      });
    }
  });
  return cell;
}

interface ModelRevision {
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  readonly body: string;
  readonly links: readonly LinkRow[];
}

interface LinkRow {
  readonly name: string;
  readonly massG: string | null;
  readonly toRevision: number | null;
  readonly toEvidence: string | null;
  readonly kind: string | null;
  readonly key: string | null;
}

type Model = Awaited<ReturnType<typeof readModel>>;

async function readModel({ services: { store } }: SigningCell) {
  const { read } = store;
  const { rows } = await read.results.ofLot(MODEL.lot);
  const [log] = await read.logs.ofLot(MODEL.lot);
  const dossier = (await read.lotFiles.latest(MODEL.lot))!;
  const parts = (JSON.parse(dossier.body) as Dossier).parts;
  const texts = await read.lotFiles.parts(parts.map(({ sha256 }) => sha256));
  const assessment = (await read.assessments.latest(MODEL.lot))!;
  const facts = readFacts(JSON.parse(dossier.body) as Dossier, texts);
  return {
    revisions: revisionsIn(store.folder.database),
    results: rows,
    log: { facts: log!.facts, part: log!.part, summaries: await read.logs.summaries(log!) },
    dossier: dossier.body,
    parts: parts.map((part) => ({ ...part, text: texts.get(part.sha256)! })),
    assessment: assessment.body,
    lotSummaries: historyRows(facts),
    statements: (await read.signatures.of({ kind: 'lot file', key: MODEL.lot })).map(({ signed }) => signed.statement),
  };
}

/** Revisions that belong to the model lot alone, in the order of recording, with their ties. */
function revisionsIn(database: string): ModelRevision[] {
  const db = new Database(database, { readonly: true });
  const revisions = db
    .prepare(
      `SELECT r.id, e.kind, e.key, r.name, r.body FROM "Revision" r JOIN "Entry" e ON e.id = r.entryId
       WHERE e.key LIKE 'L-1%' OR e.key LIKE 'M1-101%' OR e.key LIKE 'K-101-%' ORDER BY r.id`,
    )
    .all() as (Omit<ModelRevision, 'links'> & { id: number })[];
  const links = db.prepare(
    `SELECT l.name, l.massG, l.toRevision, l.toEvidence, e.kind, e.key FROM "Link" l
     LEFT JOIN "Entry" e ON e.id = l.toEntryId WHERE l.fromRevisionId = ? ORDER BY l.id`,
  );
  const found = revisions.map(({ id, ...revision }) => ({ ...revision, links: links.all(id) as LinkRow[] }));
  db.close();
  return found;
}

interface Copy {
  readonly number: number;
  readonly copies: number;
  readonly isOpen: boolean;
  readonly pens: ReadonlyMap<string, Signer>;
}

async function writeCopy(
  change: Change,
  { store }: Services,
  model: Model,
  { number, copies, isOpen, pens }: Copy,
): Promise<void> {
  const code = lotCode(number);
  const day = (from: string) => new Date(Date.parse(from) - (copies + 1 - number) * DAY_MS).toISOString().slice(0, 10);
  const named = (text: string): string =>
    text
      .replaceAll(MODEL.lot, code)
      .replaceAll(MODEL.build, `M1-${10_000 + number}`)
      .replaceAll(MODEL.cases, `K-${10_000 + number}-`)
      .replaceAll(MODEL.day, day(MODEL.day))
      .replaceAll(MODEL.nextDay, day(MODEL.nextDay));
  const copied = <T>(value: T): T => JSON.parse(named(JSON.stringify(value))) as T;

  for (const { kind, key, name, body, links } of model.revisions) {
    await change.entries.add({
      kind,
      key: named(key),
      name: named(name),
      body: JSON.parse(named(body)) as unknown,
      links: links.map((link) => linkOf(link, named)),
    });
  }
  const results = copied<readonly NewResult[]>(model.results.map(({ recordedAt: _, status: __, ...row }) => row));
  for (const file of new Set(results.map((row) => row.file))) {
    await change.results.add(
      code,
      file,
      results.filter((row) => row.file === file),
    );
  }
  await change.logs.add(
    code,
    copied({ files: [model.log.facts], part: model.log.part, summaries: model.log.summaries }),
  );
  const parts = model.parts.map(({ text, mediaType, sha256 }) => ({ text: named(text), mediaType, was: sha256 }));
  const dossier = parts.reduce((text, part) => text.replace(part.was, sha256Hex(part.text)), named(model.dossier));
  const digest = sha256Hex(dossier);
  await change.lotFiles.add(code, digest, dossier, new Map(parts.map((part) => [sha256Hex(part.text), part])));
  const assessment = named(model.assessment).replace(/"dossierSha256":"[0-9a-f]{64}"/, `"dossierSha256":"${digest}"`);
  await change.assessments.add(code, digest, 'a test', JSON.parse(assessment) as { version: string });
  await change.histories.add(code, digest, copied(model.lotSummaries));
  if (isOpen) return;
  for (const statement of copied(model.statements)) {
    const { utc: at } = await change.events.timeToSign();
    const said = { ...statement, at, subjects: [{ ...soleSubject(statement), digest }] };
    await change.signatures.add(signedBy(pens.get(statement.person.code)!, store.key, said));
  }
}

function linkOf({ name, massG, toRevision, toEvidence, kind, key }: LinkRow, named: (text: string) => string): NewLink {
  return {
    name,
    massG: massG ?? undefined,
    revision: toRevision ?? undefined,
    to: toEvidence === null ? { kind: kind!, key: named(key!) } : { evidence: toEvidence },
  };
}
