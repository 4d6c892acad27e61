import { type CapabilityStatement, lotsCounted } from '../../assessment/family/statement.js';
import { kindText } from '../../report/phrases/kinds.js';
import { ALWAYS, LAST_ENTRY } from '../../store/histories.js';
import { impactsOn } from '../../store/impacts-on.js';
import { lotsMissing } from '../../store/lots-missing.js';
import type { Reads } from '../../store/repositories.js';
import type { SinceStated } from './enclosure.js';

/** What is known now that bears on a statement: something found off, lots that it lacks, and a statement in its place. */
export async function sinceStated(read: Reads, { input, study, number }: CapabilityStatement): Promise<SinceStated> {
  const { family, characteristic: item, window } = input;
  const known = new Set(study.listed.map(({ lot }) => lot));
  const want = { family, characteristic: item.characteristic, seq: LAST_ENTRY, before: ALWAYS, ...window };
  const [builds] = await read.histories.buildsOf([want]);
  const later = new Map(builds!.filter(({ lot }) => !known.has(lot)).map(({ lot, builtAt }) => [lot, builtAt]));
  const missing = await lotsMissing(read, family, item.characteristic, window);
  const lots = [
    ...[...later].map(([lot, builtAt]) => ({ lot, builtAt: new Date(builtAt).toISOString() })),
    ...missing.filter(({ lot }) => !known.has(lot)),
  ];
  const impacts = (await impactsOn(read, item.characteristic, lotsCounted({ study }))).map(
    ({ cause, lots: touched, ...impact }) => ({
      ...{ impact: impact.impact, conclusion: impact.conclusion, lots: [...touched] },
      cause: `${kindText(cause.kind)} ${cause.key}`,
    }),
  );
  const latest = await read.capabilityStatements.latest(family, item.characteristic);
  return { impacts, lots, later: latest === null || latest.number <= number ? null : latest.number };
}
