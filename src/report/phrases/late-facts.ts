import type { LateFact } from '../../dossier/late-facts.js';
import { stepText } from './trade-codes.js';

const NAMES: Readonly<Record<LateFact['what'], (fact: LateFact) => string>> = {
  build: ({ key }) => `build ${key}`,
  log: ({ key, detail }) => `log ${detail} of build ${key}`,
  step: ({ key }) => stepText(key),
  'powder state': ({ key }) => `powder state ${key}`,
  'powder test': ({ key, detail }) => `${detail} of powder state ${key}`,
  changeover: ({ key }) => `changeover ${key}`,
};

/** What of the build was entered late: the whole of it, or fields by their names. */
export function lateFactText(fact: LateFact): string {
  const name = NAMES[fact.what](fact);
  return fact.fields === null ? name : `${name}: ${fact.fields.join(', ')}`;
}
