/** What an observation in a batch is for, where it is no channel; a channel has its index. */
export const OTHER = -1;
const LAYER = -2;
export const ZONE = -3;
export const STEP = -4;
export const CONDITION = -5;
/** No observation: from here on nothing that was told before holds. */
export const RESTART = -6;
export const PLACES = { layer: LAYER, zone: ZONE, step: STEP } as const;
