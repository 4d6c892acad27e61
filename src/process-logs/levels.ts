/** How bad it is to leave a window: `alert` is noted, `action` leaves the unit undecided, `reject` fails it. */
export type Level = 'alert' | 'action' | 'reject';

/** From the mildest to the most severe. */
export const LEVELS: readonly Level[] = ['alert', 'action', 'reject'];

export function moreSevere(a: Level, b: Level): Level {
  return LEVELS.indexOf(a) >= LEVELS.indexOf(b) ? a : b;
}
