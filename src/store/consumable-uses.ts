import type { ConsumableUsed } from '../dossier/earlier-uses.js';
import type { Lot } from '../kinds/lot.js';
import type { StoredRevision } from './entries.js';
import type { Gathering } from './gathering.js';
import type { Reads } from './repositories.js';

/** Uses of each consumable of the lot that has a limit of uses, up to its last use by the lot, in order of time. */
export async function consumableUses(read: Reads, gathered: Gathering, lot: Lot): Promise<ConsumableUsed[]> {
  const documents = gathered.documents();
  const own = new Set([
    ...lot.builds.map(({ build }) => `build ${build}`),
    ...documents.filter(({ kind }) => kind === 'process-load').map(({ key }) => `process-load ${key}`),
  ]);
  const found: ConsumableUsed[] = [];
  for (const document of documents) {
    if (!isOf('consumable', document) || !isLimited(document, documents)) continue;
    const all = await usesOf(read, document.key, (use) => gathered.touchedBy(use.ledgerSeq));
    const last = Math.max(...all.filter(({ kind, key }) => own.has(`${kind} ${key}`)).map(({ at }) => Date.parse(at)));
    found.push(...all.filter(({ at }) => Date.parse(at) <= last));
  }
  return found;
}

const isOf = <K extends 'consumable' | 'material-specification'>(
  kind: K,
  document: StoredRevision,
): document is StoredRevision<K> => document.kind === kind;

function isLimited({ body }: StoredRevision<'consumable'>, documents: readonly StoredRevision[]): boolean {
  const { materialSpecification: named } = body;
  return documents.some(
    (document) =>
      isOf('material-specification', document) &&
      document.key === named?.material &&
      document.revision === named.revision &&
      document.body.inUseLimit?.uses !== undefined,
  );
}

/**
 * Uses of a consumable by closures and loads that name it, in order of time.
 * @param tell of each document that names it.
 */
export async function usesOf(
  { entries }: Reads,
  consumable: string,
  tell: (document: StoredRevision) => void = () => {},
): Promise<ConsumableUsed[]> {
  const builds = await entries.tiedTo('build', 'consumable', consumable, 'with consumable');
  const loads = await entries.tiedTo('process-load', 'consumable', consumable, 'with consumable');
  for (const document of [...builds, ...loads]) tell(document);
  const sum = (used: readonly { readonly consumable: string; readonly uses?: number | undefined }[] = []) =>
    used.filter((one) => one.consumable === consumable).reduce((all, { uses = 1 }) => all + uses, 0);
  return [
    ...builds
      .filter(({ body }) => body.state !== 'planned')
      .map(({ key, body }) => ({
        ...{ kind: 'build' as const, key, at: body.closedAt },
        uses: sum(body.consumables) + sum(body.gas.flatMap(({ bottle }) => (bottle ? [{ consumable: bottle }] : []))),
      })),
    ...loads.map(({ key, body }) => ({
      ...{ kind: 'process-load' as const, key, at: body.at, uses: sum(body.consumables) },
    })),
  ]
    .map((use) => ({ consumable, ...use }))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || (a.key < b.key ? -1 : 1));
}
