import { QUALIFIED_TO } from '../people/acts.js';
import { type Document, FICTION, PEOPLE } from './names.js';

const person = (code: string, name: string, does: string, operations: readonly string[]): Document => ({
  kind: 'person',
  format: 1,
  person: code,
  name,
  function: `${does} (${FICTION})`,
  qualifications: operations.map((operation) => ({ operation, from: '2025-06-01' })),
});

export const people: Record<string, Document> = {
  'people/JV.yaml': person(PEOPLE.operator, 'Joris Veldkamp', 'operator', [
    'hybrid build',
    'clean',
    'dry',
    'coat',
    'pack',
    'sterilise',
  ]),
  'people/AL.yaml': person(PEOPLE.process, 'Ada Lindmark', 'process engineer', [
    'recipe',
    'hybrid build',
    QUALIFIED_TO.decide,
  ]),
  'people/IM.yaml': person(PEOPLE.analyst, 'Ines Marbach', 'analyst', [
    'tensile test',
    'mass loss',
    'tomography',
    'residual stress',
    'chemical analysis',
  ]),
  'people/LP.yaml': person(PEOPLE.secondAnalyst, 'Lena Petri', 'analyst', ['dimensions', 'roughness']),
  'people/TO.yaml': person(PEOPLE.quality, 'Tomas Okoro', 'quality engineer', [
    QUALIFIED_TO.decide,
    QUALIFIED_TO.review,
  ]),
  'people/SA.yaml': person(PEOPLE.release, 'Sefa Aydin', 'releaser', [QUALIFIED_TO.release]),
};
