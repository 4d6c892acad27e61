import { type CapabilityStatement, lotsCounted } from '../../assessment/family/statement.js';
import { mayRestOn } from '../../dossier/impact-results.js';
import type { Impact } from '../../kinds/after-release/impact.js';
import { kindText } from '../../report/phrases/kinds.js';
import { ALWAYS, LAST_ENTRY } from '../../store/histories.js';
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
  const counted = lotsCounted({ study });
  const impacts: SinceStated['impacts'] = [];
  for (const { key, body } of await read.entries.tiedToAny('impact', 'lot', [...counted], 'touches lot')) {
    const touched: string[] = [];
    for (const lot of body.lots ?? []) {
      if (counted.has(lot) && (await touches(read, body, lot, item.characteristic))) touched.push(lot);
    }
    const cause = `${kindText(body.cause.kind)} ${body.cause.key}`;
    if (touched.length > 0) impacts.push({ impact: key, cause, conclusion: body.conclusion, lots: touched });
  }
  const latest = await read.capabilityStatements.latest(family, item.characteristic);
  return { impacts, lots, later: latest === null || latest.number <= number ? null : latest.number };
}

/** Whether a value of the lot in the characteristic rests on what was found off. */
async function touches(
  read: Reads,
  { cause, from, to }: Impact,
  lot: string,
  characteristic: string,
): Promise<boolean> {
  const { rows } = await read.results.ofLot(lot);
  return rows.some(
    (row) =>
      row.characteristic === characteristic &&
      row.status === 'current' &&
      mayRestOn(row, { kind: cause.kind, key: cause.key, from, to }),
  );
}
