import type { LotFiles } from '../../src/qualification/lots.js';
import type { Document } from '../../src/qualification/names.js';
import { SITE_STEPS } from '../../src/qualification/site.js';
import { type Move, STORY_MOVES } from '../../src/qualification/stories/acts.js';
import { STORY_LOTS } from '../../src/qualification/stories/three-lots.js';
import { hasField, linksOn, type Seat, valuesOn } from './seat.js';
import { StoryWalk } from './story-walk.js';

/** Before the first lot that somebody walks. */
const LAST_OF_SITE = '2026-09-01';
const [GONE, INSTEAD] = ['LP', 'IM'] as const;

/** The files of an act for a cell of five: one analyst does what two do in the demo. */
function byFive({ documents, texts }: LotFiles): LotFiles {
  const { [`people/${GONE}.yaml`]: second, ...kept } = documents;
  const all = JSON.parse(JSON.stringify(kept).replaceAll(`"${GONE}"`, `"${INSTEAD}"`)) as Record<string, Document>;
  const first = all[`people/${INSTEAD}.yaml`];
  if (first && second) {
    all[`people/${INSTEAD}.yaml`] = {
      ...first,
      qualifications: [...(first.qualifications as object[]), ...(second.qualifications as object[])],
    };
  }
  const swapped = Object.entries(texts).map(([name, text]) => [name, text.replaceAll(`,${GONE},`, `,${INSTEAD},`)]);
  return { documents: all, texts: Object.fromEntries(swapped) };
}

type Happening = { readonly at: string; readonly happen: (walk: StoryWalk) => Promise<void> };

const siteSteps: readonly Happening[] = SITE_STEPS.filter(({ at }) => at < LAST_OF_SITE).map(
  ({ at, folder, documents }) => ({
    at,
    happen: (walk) =>
      walk.bringIn({ folder, files: () => byFive({ documents: documents as Record<string, Document>, texts: {} }) }),
  }),
);

/** The link of the page of checks that leads from what is found of one implant alone to a nonconformity. */
async function opens(seat: Seat, lot: string, unit: string): Promise<string> {
  await seat.open(`/lots/${lot}/checks`);
  for (const link of linksOn(seat, '/enter/nonconformity')) {
    await seat.open(link);
    if (valuesOn(seat, 'touches[0].key').includes(unit) && !hasField(seat, 'touches[1].key')) return link;
  }
  throw new Error(`no finding on ${unit} alone leads to a nonconformity`);
}

async function play(walk: StoryWalk, move: Move): Promise<void> {
  if (move.does === 'bring in') return bringIn(walk, move);
  if (move.does === 'close out') return walk.closeOut(move.lot);
  if (move.does === 'reject') return walk.reject(move);
  if (move.does === 'be refused') return walk.beRefused(move.lot, /covers 2026-10-20/);
}

/** Nonconformities are opened from their findings, and closed in their forms; everything else comes as a folder. */
async function bringIn(walk: StoryWalk, move: Extract<Move, { does: 'bring in' }>): Promise<void> {
  const files = byFive(move.files((_, unit) => unit));
  const reports = Object.entries(files.documents).filter(([, { kind }]) => kind === 'nonconformity');
  if (move.about !== undefined) await walk.assess(move.about);
  for (const [name, report] of reports) {
    delete files.documents[name];
    const { kind: _, format: _format, findings, touches: _touches, closure, ...rest } = report;
    if (closure !== undefined) continue;
    const [unit] = findings as string[];
    await walk.enter(await opens(walk.seat('AL'), move.about!, unit!), rest);
  }
  await walk.bringIn({ folder: move.folder, files: () => files });
  for (const [, { nonconformity, closure }] of reports) {
    if (closure === undefined) continue;
    await walk.enter(`/enter/nonconformity?of=${nonconformity}`, { closure, reason: 'done as decided (fictional)' });
  }
}

const moves: readonly Happening[] = STORY_MOVES.filter(({ does }) => !does.includes('drill')).map((move) => ({
  at: move.at,
  happen: (walk) => play(walk, move),
}));

/** Walks every story of the demo from an empty folder to its last release. */
export async function walkStories(newSeat: (url: string) => Promise<Seat>): Promise<StoryWalk> {
  const all = [...siteSteps, ...moves].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  const walk = await StoryWalk.open(all[0]!.at, newSeat);
  for (const { at, happen } of all) {
    walk.advanceTo(at);
    await happen(walk);
  }
  return walk;
}

export { STORY_LOTS };
