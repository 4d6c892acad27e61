/** Words of what a lot sets otherwise than the build before it. */
export const SETTING_CHANGES = {
  caption: 'Settings that differ from the build before',
  heads: { recipe: 'Recipe', zone: 'Zone', step: 'Step', setting: 'Setting', before: 'Before', now: 'Now' },
  everyLayers: 'layers from one to the next',
  notSet: 'not set',
  noneBefore: 'No earlier build of the family is in the lot file, so there is nothing to compare the recipe with.',
  before: (build: string, lot: string, recipe: string, detail: string) =>
    `The build before these in the family was ${build} of lot ${lot}, made by ${recipe}. ${detail}`,
  detail: (how: 'same' | 'alike' | 'differ' | 'not known') => DETAILS[how],
};

const DETAILS = {
  same: 'It is the same recipe in the same revision: no setting differs.',
  alike: 'It is another recipe or revision; no setting differs.',
  differ: 'What it set otherwise stands below.',
  'not known': 'What it set is not in this lot file.',
};
