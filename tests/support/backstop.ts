/** Only so that a run that hangs ends at all: no test has a time of its own, since a busy machine would break it. */
export const BACKSTOP_MS = 3_600_000;
