/** The last of what was done by a moment. */
export const latestBefore = <T extends { readonly at: string }>(done: readonly T[], moment: string): T | undefined =>
  done.filter(({ at }) => Date.parse(at) <= Date.parse(moment)).sort((a, b) => Date.parse(b.at) - Date.parse(a.at))[0];
