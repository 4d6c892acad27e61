import type { CountLine } from '../../assessment/counts.js';

/** `3 made; 1 released, 2 in progress`. */
export const countText = ({ what, total, parts }: CountLine): string =>
  `${total} ${what}; ${parts.map(({ title, count }) => `${count} ${title}`).join(', ')}`;
