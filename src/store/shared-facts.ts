import type { HistoryRow } from '../dossier/tables.js';
import type { KindName } from '../kinds/catalogue.js';
import type { Lot } from '../kinds/lot.js';
import type { StoredRevision } from './entries.js';
import type { Reads } from './repositories.js';
import type { CurrentResult } from './results.js';

const firstClosing = (lot: Lot): number => Math.min(...lot.builds.map((build) => Date.parse(build.closedAt)));

const POWDER = 'powder-state' satisfies KindName;

interface FamilyValues {
  readonly lots: readonly Lot[];
  readonly results: ReadonlyMap<string, readonly CurrentResult[]>;
}

/**
 * What lots have in common: the documents that they rest on, the lots of their family with their values, and the groups of
 * recipes. Read when first asked for and then kept, so that a list of many lots reads it once; hence for one list only.
 */
export class SharedFacts {
  private readonly documents = new Map<string, Promise<StoredRevision[]>>();
  private lots: Promise<readonly Lot[]> | undefined;
  private groups: Promise<ReadonlyMap<string, string>> | undefined;
  private readonly families = new Map<string, Promise<FamilyValues>>();

  constructor(private readonly read: Reads) {}

  ofFamily(family: string): Promise<FamilyValues> {
    const known = this.families.get(family) ?? this.readFamily(family);
    this.families.set(family, known);
    return known;
  }

  /** All revisions of an entry, oldest first. */
  revisions<K extends string>(kind: K, key: string): Promise<StoredRevision<K>[]> {
    const name = `${kind} ${key}`;
    const known =
      this.documents.get(name) ?? (kind === POWDER ? this.ofPowder(key) : this.read.entries.revisions(kind, key));
    this.documents.set(name, known);
    return known as Promise<StoredRevision<K>[]>;
  }

  /** Powder comes with all powder that it was made of: one question, where asking state by state would be thousands. */
  private async ofPowder(key: string): Promise<StoredRevision[]> {
    const found = new Map<string, StoredRevision[]>();
    for (const revision of await this.read.entries.containedIn(POWDER, key)) {
      const name = `${revision.kind} ${revision.key}`;
      const known = found.get(name);
      if (known) known.push(revision);
      else found.set(name, [revision]);
    }
    for (const [name, revisions] of found) {
      if (!this.documents.has(name)) this.documents.set(name, Promise.resolve(revisions));
    }
    return found.get(`${POWDER} ${key}`) ?? [];
  }

  /** Group of each revision of a recipe. */
  recipeGroups(): Promise<ReadonlyMap<string, string>> {
    this.groups ??= this.read.entries
      .allRevisions('recipe')
      .then((all) => new Map(all.map((item) => [`${item.key} ${item.revision}`, item.body.group])));
    return this.groups;
  }

  private async readFamily(family: string): Promise<FamilyValues> {
    this.lots ??= this.read.entries.list('lot').then((all) => all.map((revision) => revision.body));
    const lots = (await this.lots)
      .filter((lot) => lot.family === family)
      .sort((a, b) => firstClosing(a) - firstClosing(b) || (a.lot < b.lot ? -1 : 1));
    return { lots, results: await this.read.results.currentOf(lots.map(({ lot }) => lot)) };
  }
}

/** Values of every build of the family that was closed before the first build of this lot, in build order. */
export async function familyHistory(shared: SharedFacts, lot: Lot): Promise<HistoryRow[]> {
  const before = firstClosing(lot);
  const { lots, results } = await shared.ofFamily(lot.family);
  const groups = await shared.recipeGroups();
  const others = lots.filter((other) => other.lot !== lot.lot && firstClosing(other) < before);
  const rows: HistoryRow[] = [];
  for (const other of others) {
    const parts = new Map(
      [
        ...other.implants.map((part) => ({ ...part, code: part.serial })),
        ...other.coupons.map((part) => ({ ...part, code: part.coupon })),
      ].map((part) => [part.code, part]),
    );
    for (const result of results.get(other.lot)!) {
      const part = parts.get(result.specimen);
      const build = other.builds.find((item) => item.build === part?.build);
      if (!part || !build || Date.parse(build.closedAt) >= before) continue;
      rows.push({
        characteristic: result.characteristic,
        lot: other.lot,
        build: build.build,
        builtAt: build.closedAt,
        machine: build.machine,
        recipe: part.recipe.recipe,
        recipeRevision: String(part.recipe.revision),
        recipeGroup: groups.get(`${part.recipe.recipe} ${part.recipe.revision}`) ?? '',
        specimen: result.specimen,
        piece: result.piece,
        replicate: result.replicate,
        value: result.value,
        ucum: result.ucum,
        method: result.method,
        methodRevision: result.methodRevision,
      });
    }
  }
  return rows;
}
