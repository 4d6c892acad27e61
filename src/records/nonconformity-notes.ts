import { nonconformitiesOf } from '../assessment/nonconformities.js';
import type { Facts } from '../dossier/facts.js';
import { covers } from '../dossier/statement.js';
import { nonconformitiesBySort } from '../lots/nonconformities-by-sort.js';
import type { Reads } from '../store/repositories.js';
import type { NonconformityNotes } from './enclosure.js';

/**
 * What a record tells of nonconformities beside the lot file, as it stood when it was issued: how often the same happened in
 * which lots, and corrective actions, which go on after the release. Undefined where there is nothing to tell.
 */
export async function nonconformityNotes(read: Reads, facts: Facts): Promise<NonconformityNotes | undefined> {
  const own = nonconformitiesOf(facts).map(({ document }) => document.key);
  if (own.length === 0) return undefined;
  const alike = (await nonconformitiesBySort(read)).flatMap(({ sort, all, lots }) =>
    sort !== null && all.some(({ key }) => own.includes(key))
      ? [{ sort, nonconformities: all.map(({ key }) => key).sort(), lots: [...lots] }]
      : [],
  );
  const actions: NonconformityNotes['actions'] = [];
  for (const { key, revision, body, digest } of await read.entries.list('corrective-action')) {
    const triggers = body.triggers.map((trigger) => trigger.key);
    if (!body.triggers.some((trigger) => trigger.kind === 'nonconformity' && own.includes(trigger.key))) continue;
    const statements = (await read.signatures.of({ kind: 'corrective-action', key })).map(
      ({ signed }) => signed.statement,
    );
    const closed = statements.find((statement) => covers(statement, digest));
    actions.push({
      ...{ action: key, revision, triggers, cause: body.cause, dueOn: body.dueOn },
      steps: body.steps.map(({ what, dueOn, doneOn }) => ({ what, dueOn, doneOn: doneOn ?? null })),
      effect: body.effectiveness
        ? { on: body.effectiveness.on, result: body.effectiveness.result, says: body.effectiveness.says }
        : null,
      closed: closed ? { by: `${closed.person.name} (${closed.person.code})`, at: closed.at } : null,
    });
  }
  return alike.length + actions.length === 0 ? undefined : { alike, actions };
}
