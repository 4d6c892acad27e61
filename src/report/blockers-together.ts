/** Why implants do not conform or may not go, as the lines of a lot tell it. */
interface Blocker {
  readonly effect: string;
  readonly says: string;
  readonly clearedBy: string;
  readonly units: readonly string[];
  readonly findings: readonly string[];
}

/** Reasons on the same implants that the same people clear in the same way, told together. */
export function blockersTogether(blockers: readonly Blocker[]) {
  const groups = new Map<
    string,
    Omit<Blocker, 'says' | 'findings'> & { readonly says: string[]; readonly findings: string[] }
  >();
  for (const { says, findings, ...one } of blockers) {
    const key = JSON.stringify([one.effect, one.clearedBy, one.units]);
    const known = groups.get(key);
    if (!known) groups.set(key, { ...one, says: [says], findings: [...findings] });
    else {
      known.says.push(says);
      known.findings.push(...findings);
    }
  }
  return [...groups.values()];
}
