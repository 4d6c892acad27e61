import { perUnit, spacedUnit } from '../../dossier/unit-text.js';
import { levelText } from './codes.js';

/** Words of what the recipe asks of a step in a zone. */
export const ZONE_STEP = {
  setting: (parameter: string, set: string, ucum: string) => `${parameter} ${set}${spacedUnit(ucum)}`,
  level: (level: string, value: string) => `${levelText(level)} ${value}`,
  below: (levels: readonly string[]) => `below ${levels.join(', ')}`,
  above: (levels: readonly string[]) => `above ${levels.join(', ')}`,
  layers: (from: number, to: number) => `, layers ${from} to ${to}`,
  window: (channel: string, ucum: string, sides: readonly string[], where: string) =>
    `${channel}${perUnit(ucum)}: ${sides.join('; ')}${where}`,
};
