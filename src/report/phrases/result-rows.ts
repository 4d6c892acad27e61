/** Who typed a result and who checked what was typed. */
export const RESULT_PEOPLE = {
  entered: (by: string) => `entered by ${by}`,
  checked: (by: string) => `checked by ${by}`,
};
