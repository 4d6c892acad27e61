/** Words of issuing material to a planned build by its code. */
export const ISSUE = {
  title: 'Issue to a planned build',
  hint: 'One line for each thing: scan or type its code. Powder is taken by its state, with its mass; gas by receipt or bottle; tips, media and tools by their numbers.',
  labels: { code: 'Code', massG: 'Mass in g, of powder', build: 'Planned build' },
  none: 'No build is planned.',
  send: 'Issue',
  buildOf: (build: string, lot: string) => `${build}, lot ${lot}`,
  asksMass: 'the grams of powder that were taken',
  takes: 'a powder state, a receipt of gas, or a bottle, tip, medium or milling tool',
  bottleOfNothing: 'a bottle that was filled from a receipt',
  remedy: 'scan it again, or correct it',
  built: (build: string) => `build ${build} is no plan any more: what was used in it is corrected in its lot`,
  hasFiles: (lot: string) => `lot ${lot} has files of its own: enter it in the form of the lot`,
  reason: (code: string, build: string) => `${code} issued to ${build}`,
};
