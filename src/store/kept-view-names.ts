/** What is kept of each lot: its line in lists, and what somebody has to sign on it sooner or later. */
export const KEPT_VIEWS = ['line', 'signatures'] as const;
export type KeptViewName = (typeof KEPT_VIEWS)[number];
