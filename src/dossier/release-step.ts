/** What a release lets an implant go on to, in the order in which it is given. */
export const RELEASE_STEPS = ['sterilisation', 'distribution'] as const;
export type ReleaseStep = (typeof RELEASE_STEPS)[number];
