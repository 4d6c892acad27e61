/** A moment as people read it, with its own offset: `2031-03-04 09:00 +01:00`; seconds only where they are not zero. */
export function timeText(moment: string): string {
  const match = /^(\d{4}-\d\d-\d\d)T(\d\d:\d\d)(?::(\d\d)(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)$/.exec(moment);
  if (!match) return moment;
  const [, day, minute, second, offset] = match;
  return `${day} ${minute}${second && second !== '00' ? `:${second}` : ''} ${offset === 'Z' ? 'UTC' : offset}`;
}
