/** What an assessment may be asked for: may we build, may we sterilise, may we release? */
export const MOMENTS = ['build', 'sterilisation', 'release'] as const;
export type Moment = (typeof MOMENTS)[number];
