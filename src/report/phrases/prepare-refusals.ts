import { timeText } from '../../dossier/time-text.js';

/** Why no lot folder is prepared for a case, and what has to come first. */
export const PREPARE_REFUSALS = {
  notOpen: (code: string, is: 'cancelled' | 'closed', at: string) =>
    `case ${code} was ${is} on ${timeText(at)}: nothing is to be built for it. If that is wrong, take in the case with status open`,
  noDesign: (code: string, iteration: number) =>
    `case ${code} asks for design iteration ${iteration}, and there is none: take in the design, or correct the iteration of the case`,
  notAccepted: (code: string, iteration: number) =>
    `nobody accepted iteration ${iteration} of the design of case ${code}: take in the acceptance of the prescriber first`,
  anotherModel: (code: string, iteration: number) =>
    `the acceptance of iteration ${iteration} of case ${code} names another model than the design: ask the prescriber about the model that will be built`,
  noRecipe: (code: string, recipe: string) =>
    `the design of case ${code} names recipe ${recipe}, and there is none: take in the recipe`,
  recipeNotApproved: (recipe: string) =>
    `recipe ${recipe} is not in force: it is not approved, not effective yet, or withdrawn. A quality engineer approves it, or a further design iteration names another`,
  noSpecification: (family: string) =>
    `family ${family} has no specification in force: let a quality engineer approve one`,
  manySpecifications: (family: string, names: readonly string[]) =>
    `family ${family} has several specifications in force, ${names.join(', ')}: withdraw those that hold no more`,
  noZone: (characteristic: string, zoneClass: string, recipe: string) =>
    `${characteristic} is measured on coupons of zone class ${zoneClass}, and recipe ${recipe} has no such zone: correct the specification or the recipe`,
  plannedOtherwise: (lot: string) =>
    `lot ${lot} is not what would be planned for its case today: its recipe or specification has another revision in force, or parts were changed. Take its codes from the page of its build`,
  folderThere: (folder: string) =>
    `${folder} is there already: nothing is written over it. Name another folder with --out`,
};
