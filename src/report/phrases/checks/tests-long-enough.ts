import { z } from 'zod';
import { timeText } from '../../../dossier/time-text.js';
import { type CheckPhrases, ifTold, type Phrase, readFact, type Told } from '../phrase.js';

const METHODS = z.array(z.tuple([z.string(), z.string(), z.string()]));

/** `336 h`, `335.5 h (13 d 23.5 h)` */
export function hoursText(hours: string): string {
  const days = Math.floor(Number(hours) / 24);
  const rest = Number((Number(hours) - 24 * days).toFixed(1));
  const short = String(Number(Number(hours).toFixed(1)));
  return days === 0 || rest === 0 ? `${short} h` : `${short} h (${days} d ${rest} h)`;
}

function stated(facts: Told): string {
  const within = ifTold(facts, 'within');
  return `${facts.method} says ${durationText(facts.hours, within ?? '')}`;
}

const durationText = (hours: string, within: string): string =>
  within === '' ? `at least ${hoursText(hours)}` : `${hoursText(hours)}, ${within} h more or less`;

const test = ({ characteristic, specimen, measuredAt }: Told): string =>
  `The test of ${characteristic} on ${specimen}, measured at ${timeText(measuredAt)},`;

const DECIDE = 'Process and quality engineer: decide whether the values still speak for the characteristic.';

const lasted: Phrase = (facts) => ({
  says: `${test(facts)} was started at ${timeText(facts.startedAt)} and lasted ${hoursText(facts.lasted)}; ${stated(facts)}.`,
  clearedBy: `Analyst: repeat the test as the method says, or correct the times with a reason. ${DECIDE}`,
});

export const testsLongEnough: CheckPhrases = {
  title: 'Tests as long as their methods say',
  asks: 'Did every test last as long as its method says, within what the method allows?',
  recompute: `For each current row by a method with a "duration": from "hours" - "within" to "hours" + "within", or at least
"hours" where there is no "within". Without startedAt: "start not recorded" (D), or "cannot have lasted as long" (D) when less lies
between measuredAt and the latest before it of "openedAt" of the specimen's build and the "at" of the steps that it went through.
With startedAt: "shorter than the method says" (D) or "longer than the method says" (D). Hours with nine significant digits.
Implants: those of the specimen. Does not apply without such a row.`,
  basis: ({ methods }) =>
    readFact(METHODS, methods)
      .map(([method, hours, within]) => `${method}: ${durationText(hours, within)}`)
      .join('; '),
  doesNotApply: 'no method by which something was measured states how long the test lasts',
  rules: {
    'shorter than the method says': lasted,
    'longer than the method says': lasted,
    'cannot have lasted as long': (facts) => ({
      says: `${test(facts)} can have lasted ${hoursText(facts.lasted)} at most: the specimen was free for it since ${timeText(facts.from)}; ${stated(facts)}.`,
      clearedBy: `Analyst: correct the times with a reason, or repeat the test as the method says. ${DECIDE}`,
    }),
    'start not recorded': (facts) => ({
      says: `${test(facts)} has no start on record, and ${stated(facts)}.`,
      clearedBy: `Analyst: correct the row with the start, column "startedAt", and the reason. ${DECIDE}`,
    }),
  },
};
