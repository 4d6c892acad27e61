import type { SettingInZone } from '../../assessment/logged-settings.js';
import type { SettingRow, Span } from '../setting-rows.js';
import { ABSENT } from './absent.js';
import { textBy } from './coded.js';

const STANDINGS: Readonly<Record<SettingInZone['standing'], string>> = {
  followed: 'yes',
  'not followed': 'no: outside what is allowed',
  'no deviation stated': 'not compared: the recipe states no allowed deviation',
  repeated: 'the log repeats the set value; compared row by row',
  'shown otherwise': 'nothing was logged',
  'not logged': 'nothing was logged',
  'units do not compare': 'logged in a unit of another kind',
  'step not logged': 'the step was not logged',
};

const standingText = textBy(STANDINGS);

/** Five digits are more than a sensor shows; a whole number keeps all of its own. */
const numberText = (value: number): string => String(Number.isInteger(value) ? value : Number(value.toPrecision(5)));

const spanText = (span: Span | null): string => {
  if (span === null) return ABSENT.none;
  const [from, to] = [numberText(span.from), numberText(span.to)];
  return from === to ? from : `${from} to ${to}`;
};

/** Means, allowed mean, least and greatest, followed. */
export function loggedCells({ parameter, standing, means, actual, allowed }: SettingRow): string[] {
  const otherwise = parameter.unlogged === undefined ? '' : `; shown by: ${parameter.unlogged}`;
  return [spanText(means), spanText(allowed), spanText(actual), `${standingText(standing)}${otherwise}`];
}
