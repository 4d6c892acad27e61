import { levelText } from '../codes.js';
import { counted } from '../counted.js';
import { told } from './listed.js';

/** What the picture of a channel shows, as its numbers are written. */
interface ChannelNumbers {
  readonly values: string;
  readonly windows: readonly string[];
  readonly excursions: readonly string[];
  readonly gaps: readonly string[];
  readonly events?: readonly string[];
}

/** Words of the pictures of the log of a build. */
export const LOG_FIGURES = {
  hours: 'Hours since the chamber was closed',
  levelPassed: (level: string) => `${levelText(level)} level passed`,
  levelPassedTimes: (times: number, level: string) => `${times} times ${levelText(level)} level passed`,
  channelAlt: (channel: string, { values, windows, excursions, gaps, events = [] }: ChannelNumbers) =>
    `${channel} over the build, ${values}.${told('Windows', windows)}${excursions.length === 0 ? ' No excursion.' : told('Excursions', excursions)}${told('No values', gaps)}${told('What happened', events)}`,
  values: (least: number, most: number, unit: string) => `between ${least} and ${most} ${unit}`,
  window: (level: string, lower: number | undefined, upper: number | undefined) =>
    `${levelText(level)}${lower === undefined ? '' : ` below ${lower}`}${upper === undefined ? '' : `${lower === undefined ? '' : ' or'} above ${upper}`}`,
  span: (fromH: number, toH: number) => `${fromH.toFixed(2)} to ${toH.toFixed(2)} h`,
  excursion: (words: string, span: string) => `${words}, ${span}`,
  channelCaption: (channel: string, build: string) =>
    `Band between the smallest and largest ${channel} in each stretch of time, from the whole log of build ${build}.`,
  build: (build: string) => `Build ${build} from closing to opening the chamber`,
  buildAlt: (steps: readonly string[], findings: readonly string[]) =>
    `Steps of the build in hours since the chamber was closed.${told('Steps', steps)}${findings.length === 0 ? ' No finding.' : told('Findings', findings)}`,
  step: (name: string, spans: number, span: string) => `${name} ${span}${spans === 1 ? '' : ` in ${spans} stretches`}`,
  /** @param left findings that are not drawn. */
  buildCaption: (left: number) =>
    `When each step ran, to the width of the stored outline, and what was found${left > 0 ? `; ${counted(left, 'milder finding')} ${left === 1 ? 'is' : 'are'} in the table only` : ''}.`,
  byLayer: (channel: string, build: string) => `${channel} in build ${build}, by layer`,
  scope: (zone: string, step: string) => `${zone} ${step}`,
  layers: (from: number, to: number) => `layers ${from} to ${to}`,
  layerAlt: (channel: string, { values, windows, excursions }: ChannelNumbers, layers: number) =>
    `${channel} over ${layers} layers, ${values}.${told('Windows', windows)}${excursions.length === 0 ? ' No excursion.' : told('Excursions', excursions)}`,
  layerCaption: (channel: string) =>
    `Band between the smallest and largest ${channel} in each layer, over all its zones and steps.`,
  hour: (at: number) => `${at.toFixed(2)} h`,
  limitOf: (level: string, limit: string, unit: string) => `${levelText(level)} at ${limit} ${unit}`,
  nothingAround: 'no values are kept around it',
  around: (says: string, span: string, isDrawn: boolean) =>
    `What the log showed around it: ${says}, ${span} since the chamber was closed${isDrawn ? '' : '; no values are kept around it'}`,
  aroundCaption: 'Band between the smallest and largest value around the finding, whose time is shaded.',
  more: (first: string, more: number) => `${first} and ${more} more`,
};
