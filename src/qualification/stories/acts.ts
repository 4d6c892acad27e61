import type { LotFiles } from '../lots.js';
import type { Document } from '../names.js';
import { AFTER_RELEASE } from './after-release.js';
import { acceptanceFiles, caseFiles } from './cases.js';
import {
  correctiveAction,
  type FindingOf,
  instruction,
  nonconformities,
  repeated,
  reworkSteps,
  scrapped,
} from './deviations.js';
import { DRILL } from './drill.js';
import { type CoatedLot, coatedLot, couponOf, serialOf, serialsOf, sheetOfRepeats, testSheets } from './lots.js';
import { COATED_SITE, usPermission } from './site.js';
import { KEPT, putOff, SPLIT_LOT, splitFiles, splitFinished } from './split.js';
import {
  coatLoad,
  coatLoadOf,
  dayAfter,
  dryStore,
  FAILED_LOAD,
  firstSteps,
  labelsFor,
  lastSteps,
  packLoad,
  REPEATED_LOAD,
} from './steps.js';
import { ALL, FIRST, SECOND, THIRD } from './three-lots.js';

/** One moment of the stories. */
export type Move = { readonly at: string } & (
  | {
      readonly does: 'bring in';
      readonly title: string;
      readonly folder: string;
      /** Of which findings may be named. */
      readonly about?: string;
      files(findingOf: FindingOf): LotFiles;
    }
  /** What is brought in is refused as a whole, with a problem of this code. */
  | {
      readonly does: 'be turned away';
      readonly title: string;
      readonly folder: string;
      readonly code: string;
      files(): LotFiles;
    }
  /** What a machine tells of a build is written into a folder, from where a later move takes it. */
  | { readonly does: 'record'; readonly title: string; record(folder: string): Promise<void> }
  /** Everybody decides, reviews and releases what may go. */
  | { readonly does: 'close out'; readonly lot: string }
  /** It is assessed, and stays to close. */
  | { readonly does: 'assess'; readonly lot: string }
  /** Somebody wants to release what a condition of the day holds back. */
  | { readonly does: 'be refused'; readonly lot: string }
  /** A drill is begun from a trace, and closed once each unit was found. */
  | { readonly does: 'begin a drill' }
  | { readonly does: 'close a drill' }
  | { readonly does: 'reject'; readonly lot: string; readonly units: readonly string[]; readonly reason: string }
);

const merged = (all: readonly LotFiles[]): LotFiles => ({
  documents: Object.assign({}, ...all.map(({ documents }) => documents)),
  texts: Object.assign({}, ...all.map(({ texts }) => texts)),
});
const of = (documents: Record<string, Document>, texts: Record<string, string> = {}): LotFiles => ({
  documents,
  texts,
});

const built = (story: CoatedLot): Move => ({
  at: `${dayAfter(story.day, 3)}T08:00:00Z`,
  does: 'bring in',
  title: `lot ${story.lot} as built and coated`,
  folder: story.lot,
  files: () =>
    merged([
      coatedLot(story, firstSteps(story)),
      of({ [`loads/${coatLoadOf(story)}.yaml`]: coatLoad(story) }),
      ...(story === FIRST ? [dryStore()] : []),
    ]),
});

const tested = (story: CoatedLot, day: string): Move => ({
  at: `${day}T17:00:00Z`,
  does: 'bring in',
  title: `tests of lot ${story.lot}`,
  folder: story.lot,
  files: () => of({}, testSheets(story, day)),
});

/** The lot with all that came after, packed, sterilised twice and labelled. */
const finished = (
  story: CoatedLot,
  steps: readonly Document[],
  units: readonly string[],
  more = {},
  texts: Record<string, string> = {},
): Move => ({
  at: '2026-10-19T17:00:00Z',
  does: 'bring in',
  title: `lot ${story.lot} packed, sterilised and labelled`,
  folder: story.lot,
  files: () =>
    merged([
      coatedLot(story, [...firstSteps(story), ...steps, ...lastSteps], { ...more, labels: labelsFor(units) }),
      of({}, texts),
    ]),
});

/** Everything that may go wrong after a build, each as an ordinary path, in three lots of a second family. */
export const STORY_MOVES: readonly Move[] = [
  ...COATED_SITE.map(
    ({ at, documents }): Move => ({
      at,
      does: 'bring in',
      title: 'what a second cell for coated plates needs',
      folder: 'site-coated',
      files: () => of(documents),
    }),
  ),
  {
    at: '2026-09-08T08:00:00Z',
    does: 'bring in',
    title: 'cases for coated plates, with their designs',
    folder: 'cases-coated',
    files: () => merged(ALL.flatMap(({ cases }) => cases.map((one) => caseFiles(one, { iteration: 1 })))),
  },
  {
    at: '2026-09-11T09:00:00Z',
    does: 'bring in',
    title: 'the prescribers accepted the designs',
    folder: 'cases-coated',
    files: () =>
      merged(ALL.flatMap(({ cases }) => cases.map((one) => acceptanceFiles(one, 1, '2026-09-10T14:00:00Z')))),
  },
  ...ALL.map(built),
  tested(FIRST, '2026-10-06'),
  tested(SECOND, '2026-10-07'),
  tested(THIRD, '2026-10-08'),
  {
    at: '2026-10-07T10:00:00Z',
    does: 'bring in',
    title: 'nonconformities of two plates, and how one is reworked',
    folder: FIRST.lot,
    about: FIRST.lot,
    files: (findingOf) => of({ ...nonconformities(findingOf), 'instructions/RW-31.yaml': instruction }),
  },
  {
    at: '2026-10-08T16:00:00Z',
    does: 'bring in',
    title: 'a plate reworked, a spare coupon tested, what was found closed',
    folder: FIRST.lot,
    about: FIRST.lot,
    files: (findingOf) =>
      merged([
        coatedLot(FIRST, [...firstSteps(FIRST), ...reworkSteps], repeated),
        of(
          { ...nonconformities(findingOf, true), 'actions/CA-31.yaml': correctiveAction(false) },
          sheetOfRepeats(FIRST, '2026-10-08', couponOf(FIRST, 3), [serialOf(FIRST, 2), '', 'sa', '2', '3.61', 'um']),
        ),
      ]),
  },
  {
    at: '2026-10-08T17:20:00Z',
    does: 'bring in',
    title: 'an operation put off',
    folder: 'cases-coated',
    files: putOff,
  },
  {
    at: '2026-10-08T18:00:00Z',
    does: 'bring in',
    title: 'the plate of that operation moved to a lot of its own',
    folder: SPLIT_LOT,
    files: splitFiles,
  },
  ...[FIRST.lot, SPLIT_LOT, THIRD.lot].map((lot): Move => ({ at: '2026-10-09T09:00:00Z', does: 'close out', lot })),
  {
    at: '2026-10-08T09:00:00Z',
    does: 'bring in',
    title: 'a plan that changed, and a case that was cancelled',
    folder: 'cases-coated',
    files: () =>
      merged([
        caseFiles(SECOND.cases[0]!, { iteration: 2, reason: 'a longer plate, as the prescriber asked (fictional)' }),
        caseFiles(SECOND.cases[1]!, {
          iteration: 1,
          cancelledAt: '2026-10-08T08:30:00Z',
          reason: 'the institution cancelled the operation (fictional)',
        }),
      ]),
  },
  { at: '2026-10-09T11:00:00Z', does: 'close out', lot: SECOND.lot },
  ...[
    [1, 'the plan changed after it was built'],
    [2, 'the case was cancelled after it was built'],
  ].map(
    ([n, reason]): Move => ({
      at: '2026-10-09T11:30:00Z',
      does: 'reject',
      lot: SECOND.lot,
      units: [serialOf(SECOND, n as number)],
      reason: `${reason} (fictional)`,
    }),
  ),
  {
    at: '2026-10-15T08:00:00Z',
    does: 'bring in',
    title: 'a sterile load pooled over three lots, of which an indicator failed',
    folder: 'loads-coated',
    files: () => of({ 'loads/PA-1.yaml': packLoad, 'loads/ST-1.yaml': FAILED_LOAD }),
  },
  {
    at: '2026-10-19T16:00:00Z',
    does: 'bring in',
    title: 'the sterile load repeated',
    folder: 'loads-coated',
    files: () => of({ 'loads/ST-2.yaml': REPEATED_LOAD }),
  },
  finished(FIRST, reworkSteps, serialsOf(FIRST), repeated),
  finished(SECOND, [], [serialOf(SECOND, 3)], scrapped, {
    [`lots/${SECOND.lot}/${scrapped.fates[0]!.evidence}`]:
      'Invented note: both plates dissolved in acid, seen by two people.\n',
  }),
  finished(THIRD, [], KEPT),
  {
    at: '2026-10-19T17:00:00Z',
    does: 'bring in',
    title: `lot ${SPLIT_LOT} packed, sterilised and labelled`,
    folder: SPLIT_LOT,
    files: splitFinished,
  },
  ...[FIRST, SECOND].map(({ lot }): Move => ({ at: '2026-10-20T09:00:00Z', does: 'close out', lot })),
  { at: '2026-10-20T10:00:00Z', does: 'be refused', lot: THIRD.lot },
  {
    at: '2026-10-20T15:00:00Z',
    does: 'bring in',
    title: 'the permission renewed',
    folder: 'site-coated-2026-10',
    files: () => of({ 'permissions/RP-US-2.yaml': usPermission(2) }),
  },
  ...[SPLIT_LOT, THIRD.lot].map((lot): Move => ({ at: '2026-10-21T09:00:00Z', does: 'close out', lot })),
  { at: DRILL.begins, does: 'begin a drill' },
  { at: DRILL.closes, does: 'close a drill' },
  {
    at: '2026-11-17T09:00:00Z',
    does: 'bring in',
    title: 'a corrective action that worked, and what became of the plates that left',
    folder: FIRST.lot,
    files: () => of({ 'actions/CA-31.yaml': correctiveAction(true), ...AFTER_RELEASE }),
  },
];
