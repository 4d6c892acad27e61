import { z } from 'zod';
import { spacedUnit } from '../../../dossier/unit-text.js';
import { type CheckPhrases, readFact, type Told } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const UNLOGGED = z.array(z.tuple([z.string(), z.string(), z.string(), z.string()]));
const LOGGED = z.array(z.tuple([z.string(), z.string(), z.string(), z.string()]));
const ZONES = z.array(z.string());

const what = ({ parameter, step, zone, recipe, set, unit }: Told): string =>
  `${parameter} of ${stepText(step)} in zone ${zone} of recipe ${recipe}, set to ${set}${spacedUnit(unit)},`;

const where = ({ build, zones }: Told): string => `in ${readFact(ZONES, zones).join(', ')} of ${build}`;

/** `P1-span mean 302 (298 to 306)` */
const loggedText = ({ logged }: Told): string =>
  readFact(LOGGED, logged)
    .map(([zone, mean, min, max]) => `${zone} mean ${mean} (${min} to ${max})`)
    .join('; ');

export const settingsFollowed: CheckPhrases = {
  title: 'Settings of the recipe followed',
  asks: 'Does the log show, zone by zone and step by step, that what the recipe sets was followed?',
  recompute: `For each build with a log, each part made there, each of its zones, and each parameter of each step of that
recipe zone that was done there. Take the rows of log-summaries.csv of the build, zone and step with "n" above 0. No row: nothing
is asked. The parameter has "unlogged": nothing is asked. Its channel is "actual", else "channel", else its name in small letters
with underscores for blanks. No row of that channel: "setting not logged" (D), but nothing when it has "channel" and no "actual".
A unit of another sort: "units do not compare" (D). With "channel" and no "actual" nothing further is asked. Else the mean:
timeWeightedMean of the rows weighted by observedMs, or mean weighted by n where these are not given, in the unit of the
parameter. It may lie from "set" - "within" to "set" + "within"; without "within" inside every window of the step on that channel
that has no "layers", between its levels "below" and "above", of each the action level, else reject, else alert, where both sides
have one; without such a window: "no allowed deviation stated" (D). Outside: "set value not followed" (D). Compare with nine
significant digits. Implants: the part, or those for whom the coupon stands. Does not apply when every such zone and step is
without a row.`,
  basis: ({ followed, unlogged }) => {
    const otherwise = new Map<string, string[]>();
    for (const [parameter, step, zone, shownBy] of readFact(UNLOGGED, unlogged)) {
      const said = `${parameter} of ${stepText(step)} in ${zone}`;
      otherwise.set(shownBy, [...(otherwise.get(shownBy) ?? []), said]);
    }
    const notLogged = [...otherwise].map(([shownBy, settings]) => `no log shows ${settings.join(', ')}: ${shownBy}`);
    return [`${followed} settings compared with the log`, ...notLogged].join('; ');
  },
  doesNotApply: 'no step of a recipe was logged',
  rules: {
    'set value not followed': (facts) => ({
      says: `${what(facts)} was logged by ${facts.channel} as ${loggedText(facts)} of ${facts.build}; allowed is a mean of ${facts.lower} to ${facts.upper}${spacedUnit(facts.unit)}.`,
      clearedBy: 'Process and quality engineer: decide what the deviation means for the parts that it touches.',
    }),
    'no allowed deviation stated': (facts) => ({
      says: `${what(facts)} was logged by ${facts.channel} as ${loggedText(facts)} of ${facts.build}, and was not compared: the recipe states no allowed deviation.`,
      clearedBy:
        'Process engineer: state in the next revision how far the mean may lie from the set value. Process and quality engineer: decide on this build.',
    }),
    'setting not logged': (facts) => ({
      says: `${what(facts)} is shown by no channel of the log ${where(facts)}.`,
      clearedBy:
        'Process engineer: log it, or state in the recipe what shows it instead. Process and quality engineer: decide on this build.',
    }),
    'units do not compare': (facts) => ({
      says: `${what(facts)} is logged ${where(facts)} in a unit of another kind: the two cannot be compared.`,
      clearedBy:
        'Process engineer: name the channel that measures it. Process and quality engineer: decide on this build.',
    }),
  },
};
