/** Words of the section "distribution" of the lot record. */
export const DISTRIBUTION = { what: 'To whom units went, and when' };
