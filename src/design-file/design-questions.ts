import { NotFoundError } from '../base/errors.js';
import { membersOf } from '../design-history/baselines.js';
import type { DesignRevision } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import { entryTies } from '../design-history/entry-ties.js';
import { findGaps, openGaps } from '../design-history/find-gaps.js';
import type { AsOf } from './as-of.js';
import { type Comparison, comparisonOf } from './comparison.js';
import {
  type DesignAnswer,
  type DeviceFileAnswer,
  designAnswer,
  deviceFileAnswer,
  type GapAnswered,
  gapInWords,
} from './design-answer.js';
import type { DesignFiles } from './design-files.js';
import { designView, entryView } from './design-view.js';
import type { GatheredDesign } from './paper/gather.js';
import type { Touched } from './touched.js';

/** What is asked of a design, as data: it goes to another thread and back. */
interface Asked {
  readonly family: string;
  /** Now when absent. */
  readonly asOf?: AsOf | undefined;
}

export interface DesignQuestions {
  answer: Asked;
  page: Asked;
  entry: { readonly family: string; readonly kind: string; readonly key: string };
  deviceFile: Asked;
  comparison: Asked & { readonly from: string; readonly to?: string | undefined };
  openGaps: Asked;
  touched: { readonly family: string; readonly change: string };
  members: Asked;
  paper: { readonly family: string; readonly asOf: AsOf };
}

export interface DesignReplies {
  answer: DesignAnswer;
  page: ReturnType<typeof designView>;
  entry: ReturnType<typeof entryView>;
  deviceFile: DeviceFileAnswer;
  comparison: Comparison;
  openGaps: { readonly today: string; readonly gaps: readonly GapAnswered[] };
  touched: Touched;
  members: { readonly hasHistory: boolean; readonly members: readonly DesignRevision[] };
  paper: GatheredDesign;
}

export type DesignQuestion = {
  [K in keyof DesignQuestions]: { readonly of: K } & DesignQuestions[K];
}[keyof DesignQuestions];

/** An answer, with how many revisions it follows from: by these people know how long it takes. */
export interface Answered<Reply> {
  readonly reply: Reply;
  readonly revisions: number;
}

/** @throws NotFoundError for a family, entry or baseline that was not on record then. */
export async function answerDesign(designs: DesignFiles, asked: DesignQuestion): Promise<Answered<unknown>> {
  const facts = await designs.of(asked.family, 'asOf' in asked ? asked.asOf : undefined);
  const replied = (reply: unknown): Answered<unknown> => ({ reply, revisions: facts.revisions.length });
  switch (asked.of) {
    case 'answer':
      return replied(designAnswer(facts, await designs.lotsMade(facts, asked.asOf)));
    case 'page':
      return replied(designView(designAnswer(facts, await designs.lotsMade(facts, asked.asOf))));
    case 'deviceFile':
      return replied(deviceFileAnswer(facts));
    case 'comparison':
      return replied(comparisonOf(facts, asked.from, asked.to));
    case 'openGaps':
      return replied({ today: facts.today, gaps: openGaps(findGaps(facts)).map(gapInWords) });
    case 'touched':
      return replied(await designs.touchedBy(facts, asked.change));
    case 'paper':
      return replied(await designs.gather(facts, asked.asOf));
    case 'members': {
      const design = new DesignIndex(facts);
      return replied({ hasHistory: design.hasHistory, members: membersOf(design) });
    }
    case 'entry': {
      const { kind, key } = asked;
      const design = new DesignIndex(facts);
      const found = entryTies(design, { kind, key });
      if (found === undefined) throw new NotFoundError(kind, key);
      const gaps = findGaps(facts, design)
        .filter(({ subjects }) => subjects.some((subject) => subject.kind === kind && subject.key === key))
        .map(gapInWords);
      return replied(entryView(facts, found, gaps));
    }
  }
}
