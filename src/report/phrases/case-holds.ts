/** Reasons of holds that the program places by itself. */
export const CASE_HOLDS = {
  cancelled: (code: string) => `case ${code} was cancelled`,
  laterIteration: (code: string, iteration: number) => `iteration ${iteration} of the design for case ${code} came in`,
  anotherIteration: (code: string, iteration: number) => `case ${code} now asks for design iteration ${iteration}`,
};
