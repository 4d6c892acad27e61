import { levelText } from '../codes.js';

/** Words of the pictures of the log of a build. */
export const LOG_FIGURES = {
  hours: 'Hours since the chamber was closed',
  levelPassed: (level: string) => `${levelText(level)} level passed`,
  levelPassedTimes: (times: number, level: string) => `${times} times ${levelText(level)} level passed`,
  channelAlt: (channel: string, excursions: number, gaps: number) =>
    `${channel} over the build with its window; ${excursions} excursion(s), ${gaps} gap(s).`,
  channelCaption: (channel: string, build: string) =>
    `Band between the smallest and largest ${channel} in each stretch of time, from the whole log of build ${build}.`,
  build: (build: string) => `Build ${build} from closing to opening the chamber`,
  buildAlt: (steps: readonly string[], findings: number) =>
    `Steps of the build over time: ${steps.join(', ')}; ${findings} finding(s).`,
  /** @param left findings that are not drawn. */
  buildCaption: (left: number) =>
    `When each step ran, to the width of the stored outline, and what was found${left > 0 ? `; ${left} milder finding(s) are in the table only` : ''}.`,
  byLayer: (channel: string, build: string) => `${channel} in build ${build}, by layer`,
  scope: (zone: string, step: string) => `${zone} ${step}`,
  layers: (from: number, to: number) => `layers ${from} to ${to}`,
  layerAlt: (channel: string, layers: number, stretches: number) =>
    `${channel} over ${layers} layers; ${stretches} stretch(es) of layers with an excursion.`,
  layerCaption: (channel: string) =>
    `Band between the smallest and largest ${channel} in each layer, over all its zones and steps.`,
  more: (first: string, more: number) => `${first} and ${more} more`,
};
