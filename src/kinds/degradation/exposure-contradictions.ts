import { endsTooEarly, needed, tooMuch } from '../contradictions.js';
import { type Contradiction, ownChecker, repeated, reversed } from '../kind.js';
import type { Exposure } from './exposure.js';

const HOUR_MS = 3_600_000;

/** What is known only once the specimen has left the medium. */
const ENDED = {
  'pH.end': ({ pH }: Exposure) => pH.end,
  'massG.after': ({ massG }: Exposure) => massG?.after,
  'massG.afterCleaning': ({ massG }: Exposure) => massG?.afterCleaning,
  volumeMm3: ({ volumeMm3 }: Exposure) => volumeMm3,
  deepestUm: ({ deepestUm }: Exposure) => deepestUm,
  minimumSectionMm: ({ minimumSectionMm }: Exposure) => minimumSectionMm,
} as const;

function valuesBeforeTheEnd(document: Exposure): Contradiction[] {
  if (document.to !== undefined) return [];
  return Object.entries(ENDED).flatMap(([name, value]) =>
    value(document) === undefined ? [] : needed('to', undefined, `${name} is known`, 'the end of the exposure'),
  );
}

/** What cleaning takes of a blank is no more than what the specimen lost in all: metal does not grow. */
function negativeLoss({ before, afterCleaning, blankLoss }: NonNullable<Exposure['massG']>): Contradiction[] {
  if (afterCleaning === undefined || Number(afterCleaning) > Number(before)) {
    return tooMuch('massG.blankLoss', blankLoss, before, 'the mass before');
  }
  const lost = (Number(before) - Number(afterCleaning)).toPrecision(12);
  return tooMuch('massG.blankLoss', blankLoss, String(Number(lost)), 'all that the specimen lost');
}

/** A rate in depth needs the density, whatever was weighed or collected. */
function density({ densityGPerCm3, massG, hydrogen, current, uncertainty }: Exposure): Contradiction[] {
  const asks = [massG?.afterCleaning, hydrogen, current, uncertainty?.densityGPerCm3];
  if (asks.every((one) => one === undefined)) return [];
  return needed('densityGPerCm3', densityGPerCm3, 'what is given asks for it', 'the density of the metal');
}

/** Cleaning only takes away; what has grown may well weigh more than the metal that went. */
function masses({ massG }: Exposure): Contradiction[] {
  if (massG === undefined) return [];
  const { before, after, afterCleaning, blankLoss } = massG;
  return [
    ...tooMuch('massG.afterCleaning', afterCleaning, before, 'the mass before'),
    ...tooMuch('massG.afterCleaning', afterCleaning, after, 'the mass before cleaning'),
    ...negativeLoss(massG),
    ...(blankLoss === undefined
      ? []
      : needed('massG.afterCleaning', afterCleaning, 'a loss by cleaning is given', 'the mass after cleaning')),
  ];
}

function acidity({ pH }: Exposure): Contradiction[] {
  return (['start', 'end'] as const).flatMap((name) => tooMuch(`pH.${name}`, pH[name], pH.most, 'the highest of all'));
}

function changes({ changeH, from, to }: Exposure): Contradiction[] {
  if (to === undefined) return [];
  const hours = String((Date.parse(to) - Date.parse(from)) / HOUR_MS);
  return tooMuch('changeH', changeH, hours, 'the hours of the exposure: leave it out where nothing was changed');
}

/** What in an exposure cannot be true together with another part of it. */
export function exposureContradictions(document: Exposure): Contradiction[] {
  const { from, to, instruments, control, hydrogen, volumeMm3, uncertainty, massG } = document;
  return [
    ...endsTooEarly('to', to, from),
    ...valuesBeforeTheEnd(document),
    ...acidity(document),
    ...masses(document),
    ...changes(document),
    ...tooMuch('hydrogen.blankMl', hydrogen?.blankMl, hydrogen?.volumeMl, 'the volume that was read'),
    ...tooMuch('volumeMm3.after', volumeMm3?.after, volumeMm3?.before, 'the volume before'),
    ...(control ? reversed('control', { lower: control.min, upper: control.max }) : []),
    ...(uncertainty?.massG === undefined
      ? []
      : needed('massG', massG, 'its uncertainty is given', 'the masses before and after')),
    ...density(document),
    ...ownChecker('checkedBy', document.checkedBy, document.enteredBy ?? document.analyst),
    ...repeated(instruments, (index) => `instruments[${index}]`, 'instrument'),
  ];
}
