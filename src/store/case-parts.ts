import { NotFoundError } from '../base/errors.js';
import { PART_NAMES, revisionKey } from '../dossier/facts.js';
import { useOfFile } from '../dossier/file-use.js';
import type { CasePart, Withdrawal } from '../dossier/schema.js';
import { signableDigests } from '../dossier/signable.js';
import { anyKindNamed, kindNamed } from '../kinds/catalogue.js';
import { lawsOfCase } from '../kinds/laws.js';
import type { Lot } from '../kinds/lot.js';
import type { StoredRevision } from './entries.js';
import { evidenceList } from './evidence-list.js';
import { Gathering } from './gathering.js';
import { namedFiles } from './named-files.js';
import type { NamedEvidence } from './questions.js';
import type { Reads } from './repositories.js';
import type { SharedFacts } from './shared-facts.js';

/**
 * The documents of each case of a lot, by its code: the current ones, the design iteration that was built, and what they
 * rest on beyond what the lot rests on.
 * @throws NotFoundError when there is no such case.
 */
export async function gatherCases(
  read: Reads,
  shared: SharedFacts,
  gathered: Gathering,
  lot: Lot,
): Promise<ReadonlyMap<string, Gathering>> {
  const codes = [...new Set(lot.implants.map((implant) => implant.case))].sort();
  const current = await read.entries.ofCases(codes);
  const cases = new Map<string, Gathering>();
  for (const code of codes) {
    const documents = current.get(code)!;
    if (!documents.some(({ kind }) => kind === 'case')) throw new NotFoundError('case', code);
    const own = new Gathering(shared, undefined, gathered);
    for (const document of documents) await own.follow(document);
    const design = documents.find(({ kind }) => kind === 'case-design');
    const built = lot.implants.filter((implant) => implant.case === code).map((implant) => implant.designIteration);
    if (design && built.some((iteration) => iteration !== design.revision)) {
      const iterations = await shared.revisions('case-design', code);
      for (const iteration of iterations) if (built.includes(iteration.revision)) await own.follow(iteration);
    }
    cases.set(code, own);
  }
  return cases;
}

/** Iterations of a design have models of their own: what carries its own revision is named with it. */
function useOf({ name, kind, key, revision }: NamedEvidence): string {
  const isNumbered = kindNamed(kind)?.caseOf !== undefined && kindNamed(kind)?.numbering === 'document';
  return useOfFile(name, { kind, key: isNumbered ? revisionKey(key, revision) : key });
}

/** Adds the part of each case. What is asked of the store is asked once for all of them. */
export async function addCaseParts(
  read: Reads,
  gathered: Gathering,
  lot: Lot,
  cases: ReadonlyMap<string, Gathering>,
  withdrawnIn: (own: Gathering) => Withdrawal[],
): Promise<void> {
  const documents = [...cases.values()].flatMap((own) => own.documents());
  const files = await namedFiles(read, documents);
  const signed = await read.signatures.on(documents.flatMap((item) => signableDigests(item)));
  const stated = await read.signatures.starting('custom statement', `${lot.lot}:`);
  for (const [code, own] of cases) {
    const pinned = own.pinned();
    const digests = new Set(pinned.flatMap((item) => signableDigests(item)));
    const units = lot.implants.filter((implant) => implant.case === code).map(({ serial }) => `${lot.lot}:${serial}`);
    const statements = [
      ...signed.filter(({ signed: { statement } }) => statement.subjects.some(({ digest }) => digests.has(digest))),
      ...stated.filter(({ signed: { statement } }) => statement.subjects.some(({ key }) => units.includes(key))),
    ];
    for (const { ledgerSeq } of statements) own.touchedBy(ledgerSeq);
    const part: CasePart = {
      format: 1,
      case: code,
      pinned,
      evidence: evidenceList(
        files
          .filter((file) => own.hasRevision(file))
          .filter(({ kind, name }) => name === 'approval' || anyKindNamed(kind)?.caseOf !== undefined)
          .map((file) => ({ ...file, use: useOf(file) })),
      ),
      signatures: statements.sort((a, b) => a.ledgerSeq - b.ledgerSeq).map(({ signed: one }) => one),
      withdrawn: withdrawnIn(own),
    };
    gathered.touchedBy(own.lastSeq);
    gathered.addJson(PART_NAMES.case(code), part, { case: code });
  }
}

/** Every revision of the permissions under which the implants of a lot are used: the lot as a whole rests on them. */
export async function gatherPermissions(
  read: Reads,
  shared: SharedFacts,
  gathered: Gathering,
  cases: ReadonlyMap<string, Gathering>,
): Promise<void> {
  const family = gathered.documents().find(isOf('family'))?.body;
  if (family === undefined) return;
  const laws = [...cases.values()].flatMap((own) =>
    own
      .documents()
      .filter(isOf('case'))
      .flatMap(({ body }) => lawsOfCase(family, body)),
  );
  if (laws.length === 0) return;
  for (const { key, body } of await read.entries.list('route-permission')) {
    const isUsed = laws.some(({ law, route }) => law === body.law && route === body.route);
    if (!isUsed || body.family !== family.family) continue;
    for (const revision of await shared.revisions('route-permission', key)) await gathered.follow(revision);
  }
}

const isOf =
  <K extends string>(kind: K) =>
  (revision: StoredRevision): revision is StoredRevision<K> =>
    revision.kind === kind;
