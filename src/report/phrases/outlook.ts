import type { EarliestRelease } from '../../assessment/earliest-release.js';
import { timeText } from '../../dossier/time-text.js';
import { ABSENT } from './absent.js';
import { counted } from './counted.js';

/** When a lot can be released at the earliest, what takes so long, and whether that is too late. */
export function earliestText({ at, longest }: EarliestRelease, neededBy: string | null): string {
  const why =
    longest === null
      ? '; no test that is missing says how long it lasts'
      : `: ${longest.title} takes ${hoursText(longest.hours)}`;
  const late = neededBy !== null && at.slice(0, 10) > neededBy ? `; it is needed by ${neededBy}` : '';
  return `can be released at the earliest ${timeText(at)}${why}${late}`;
}

const hoursText = (hours: string): string => {
  const days = Number(hours) / 24;
  return Number.isInteger(days) ? counted(days, 'day') : `${hours} h`;
};

interface Left {
  readonly reviewers: readonly string[];
  readonly releasers: readonly string[];
  readonly areEnough: boolean;
}

/** A warning where no two people are left; nothing where they are. */
export function peopleText(people: Left | null): string[] {
  if (people === null || people.areEnough) return [];
  const named = (who: readonly string[]) => who.join(', ') || ABSENT.nobody;
  return [
    `no two people are left who could review and release it: review ${named(people.reviewers)}, release ${named(people.releasers)}; give somebody else the role or the training, or keep people out of its tests`,
  ];
}
