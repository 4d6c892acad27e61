import type { LotLine } from '../lots/lot-line.js';
import { happenedAddress, lotAddress, sheetsAddress } from '../report/page-addresses.js';
import { actNameText } from '../report/phrases/acts.js';
import { capital } from '../report/phrases/capital.js';
import { NEXT_STEP } from '../report/phrases/lot-header.js';
import type { Waiting } from '../signing/waiting-list.js';
import { waitingLines } from './waiting-lines.js';

/** The one thing that a person should do next on a lot, or what it waits for. */
export interface NextStep {
  readonly says: string;
  /** `post`: the address of a form without fields; `href`: a page. */
  readonly button: { readonly text: string; readonly post?: string; readonly href?: string } | null;
}

export interface StepFacts {
  readonly line: LotLine;
  /** In this lot. */
  readonly waiting: readonly Waiting[];
  readonly person: string;
  readonly readsOnly: boolean;
  /** Of people, by code. */
  readonly names: ReadonlyMap<string, string>;
}

/** What comes first: a lot is reviewed when nothing before waits for the same person. */
const ORDER: readonly Waiting['meaning'][] = ['performed', 'checked', 'approved', 'decided', 'reviewed', 'released'];

export function nextStep({ line, waiting, person, readsOnly, names }: StepFacts): NextStep {
  if (line.stage === 'planned' && waiting.length === 0 && !readsOnly) {
    return { says: NEXT_STEP.built.says, button: { text: NEXT_STEP.built.button, href: happenedAddress(line.lot) } };
  }
  const assess = line.assessed ? assessAgain(line) : NEXT_STEP.assess;
  if (assess) {
    return {
      says: assess.says,
      button: readsOnly ? null : { text: assess.button, post: `${lotAddress(line.lot)}/assess` },
    };
  }
  if (line.changedVerdicts.length > 0) {
    const { says, button } = NEXT_STEP.changedVerdicts;
    return { says, button: { text: button, href: `${lotAddress(line.lot)}/changed-verdicts` } };
  }
  const inOrder = [...waiting].sort((a, b) => ORDER.indexOf(a.meaning) - ORDER.indexOf(b.meaning));
  const [mine] = waitingLines(inOrder.filter(({ who }) => who.includes(person)));
  if (mine) return { says: mine.title, button: { text: capital(actNameText(mine.act)), href: mine.href } };
  const [other] = inOrder.filter(({ who }) => who.length > 0);
  if (other) {
    const people = other.who.map((code) => names.get(code) ?? code).join(', ');
    return { says: NEXT_STEP.waitsFor(people, actNameText(other.act)), button: null };
  }
  const [nobodys] = inOrder;
  if (nobodys) return { says: NEXT_STEP.waitsForNobody(actNameText(nobodys.act)), button: null };
  return closedStep(line, readsOnly);
}

function assessAgain({ outOfDate, ofEarlierVersion }: LotLine) {
  if (outOfDate) return NEXT_STEP.assessAgain;
  return ofEarlierVersion ? NEXT_STEP.earlierVersion : undefined;
}

function closedStep({ lot, closed, record, stage }: LotLine, readsOnly: boolean): NextStep {
  if (!closed && stage === 'built' && !readsOnly) {
    return { says: NEXT_STEP.results.says, button: { text: NEXT_STEP.results.button, href: sheetsAddress(lot) } };
  }
  if (!closed) return { says: NEXT_STEP.nothing, button: null };
  if (record && !record.draft) return { says: NEXT_STEP.done, button: null };
  if (readsOnly) return { says: NEXT_STEP.closedNoRecord, button: null };
  return {
    says: NEXT_STEP.issue.says,
    button: { text: NEXT_STEP.issue.button, href: lotAddress(lot, 'papers', 'records') },
  };
}
