/**
 * Names that the invented documents share. Fictional from end to end; no name, number or limit of the scenario is a
 * recommendation.
 */
export type Document = Readonly<Record<string, unknown>>;

export const FICTION = 'fictional demo data';
export const FAMILY = 'BRIDGE-PLATE';
export const SPECIFICATION = { specification: 'BP-SPEC', revision: 2 };
export const RECIPE = { recipe: 'BP-RECIPE', revision: 4 };
export const RECIPE_GROUP = 'bridge-plates';
export const VALIDATION = { validation: 'PV-1', revision: 1 };
export const STUDY = { study: 'EQ-3', revision: 1 };
export const MACHINE = 'HC-1';
export const PEOPLE = {
  operator: 'JV',
  process: 'AL',
  analyst: 'IM',
  secondAnalyst: 'LP',
  quality: 'TO',
  release: 'SA',
};

/** When the documents took effect, and who had approved them. */
export const EFFECTIVE = '2025-09-20T00:00:00+02:00';
export const APPROVED = { by: PEOPLE.quality, at: '2025-09-12T14:30:00+02:00' };
