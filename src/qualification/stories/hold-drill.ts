import { placesOfImplants } from '../../lots/unit-places.js';
import type { Store } from '../../store/store.js';
import { recallDocument } from '../../trace/recall.js';
import type { Tracer } from '../../trace/tracer.js';
import type { LotFiles } from '../lots.js';
import type { Document } from '../names.js';
import { DRILL } from './drill.js';

/** What an act brings in. */
type Brought = { readonly folder: string; files(): LotFiles };

/** Holds the drill of the story as a cell does: from the answer of a trace, and closed with each unit at its place. */
export class Drill {
  constructor(
    private readonly store: Store,
    private readonly tracer: Tracer,
  ) {}

  async begun(): Promise<Brought> {
    const { matches, head } = await this.tracer.trace(DRILL.query, { forward: true });
    const serials = matches.flatMap(({ units }) => units.map(({ serial }) => serial));
    const units = (await placesOfImplants(this.store.read, serials)).sort((a, b) => (a.key < b.key ? -1 : 1));
    return brought(recallDocument({ ...DRILL, drill: true, started: DRILL.begins, head }, units));
  }

  async closed(): Promise<Brought> {
    const { body } = await this.store.read.entries.currentOrThrow('recall', DRILL.recall);
    const placed = new Map(
      (await placesOfImplants(this.store.read, body.expected)).map(({ key, place }) => [key, place]),
    );
    const found = body.expected.map((implant) => ({ implant, place: placed.get(implant)!, at: DRILL.foundAt }));
    return brought({ ...body, found, closed: DRILL.closes, lessons: DRILL.lessons });
  }
}

const brought = (document: Document): Brought => ({
  folder: 'drills',
  files: () => ({ documents: { [`recalls/${DRILL.recall}.yaml`]: document }, texts: {} }),
});
