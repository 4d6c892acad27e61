/** `1 build`, `2 builds`. @param many where it is not the word with an s. */
export const counted = (count: number | string, one: string, many = `${one}s`): string =>
  `${count} ${Number(count) === 1 ? one : many}`;
