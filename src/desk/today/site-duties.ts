import type { Expiring } from '../../lots/expiring.js';
import { findAddress } from '../../report/page-addresses.js';
import { TODAY } from '../../report/phrases/today.js';
import type { Reads } from '../../store/repositories.js';
import type { Duty } from './duty.js';

/** What documents of the site ask of people, besides signatures. */

/** The form of the next revision of a document. */
const nextRevisionOf = (kind: string, key: string): string => `/enter/${kind}?of=${encodeURIComponent(key)}`;

/** In which document it stands until when. */
const KIND_OF: Readonly<Record<Expiring['sort'], string>> = {
  calibration: 'instrument',
  upkeep: 'machine',
  material: 'receipt',
  qualification: 'person',
  validation: 'process-validation',
  permission: 'route-permission',
};

/** Things that end soon, of some sorts. */
export const endingDuties = (ending: readonly Expiring[], sorts: readonly Expiring['sort'][]): Duty[] =>
  ending
    .filter(({ sort }) => sorts.includes(sort))
    .map(({ sort, what, key, on, overdue }) => ({
      topic: 'ends',
      what: TODAY.ends(what, overdue),
      of: { text: key, href: findAddress(key) },
      units: [],
      by: on,
      overdue,
      button: { text: TODAY.renew[sort], href: nextRevisionOf(KIND_OF[sort], key) },
    }));

/** Cases of which nothing was built, and for whose design iteration nothing is there that somebody approved. */
export async function caseDuties(read: Reads, today: string): Promise<Duty[]> {
  const cases = (await read.entries.list('case')).filter(
    ({ body: { neededBy, status } }) => neededBy >= today && status?.is !== 'cancelled' && status?.is !== 'closed',
  );
  if (cases.length === 0) return [];
  const designs = new Map((await read.entries.list('case-design')).map((design) => [design.body.case, design]));
  const approved = new Set(
    (await read.signatures.ofKind('case-design'))
      .filter(({ signed }) => signed.statement.meaning === 'approved')
      .flatMap(({ signed }) => signed.statement.subjects.map(({ digest }) => digest)),
  );
  const duties: Duty[] = [];
  for (const { key, body } of cases) {
    const design = designs.get(key);
    const isAccepted = design?.body.revision === body.designIteration && approved.has(design.digest);
    if (isAccepted || (await read.entries.unitsOfCase(key)).length > 0) continue;
    duties.push({
      topic: 'make',
      what: TODAY.noDesign(design !== undefined),
      of: { text: key, href: findAddress(key) },
      units: [],
      by: body.neededBy,
      overdue: false,
      button: {
        text: TODAY.enterDesign,
        href: design ? nextRevisionOf('case-design', key) : `/enter/case-design?case=${encodeURIComponent(key)}`,
      },
    });
  }
  return duties;
}

/** Nonconformities that nobody has closed. */
export async function nonconformityDuties(read: Reads): Promise<Duty[]> {
  const open = (await read.entries.list('nonconformity')).filter(({ body }) => body.closure === undefined);
  return open.map(({ key, body }) => ({
    topic: 'wrong',
    what: TODAY.nonconformity(body.says, body.evaluation !== undefined, body.disposition !== undefined),
    of: { text: key, href: findAddress(key) },
    units: body.touches.filter(({ kind }) => kind === 'implant').map(({ key: serial }) => serial),
    by: null,
    overdue: false,
    button: { text: TODAY.goOn, href: nextRevisionOf('nonconformity', key) },
  }));
}

/** Corrective actions of which a step is not done, or of which nobody has said yet whether they worked. */
export async function correctiveDuties(read: Reads, today: string): Promise<Duty[]> {
  const open = (await read.entries.list('corrective-action')).filter(({ body }) => body.effectiveness === undefined);
  return open.flatMap(({ key, body }) => {
    const triggers = body.triggers.map((trigger) => trigger.key);
    const duty = (what: string, by: string): Duty => ({
      topic: 'wrong',
      what,
      of: { text: key, href: findAddress(key) },
      units: [],
      by,
      overdue: by < today,
      button: { text: TODAY.goOn, href: nextRevisionOf('corrective-action', key) },
    });
    const steps = body.steps.filter(({ doneOn }) => doneOn === undefined);
    return steps.length > 0
      ? steps.map(({ what, by, dueOn }) => duty(TODAY.corrective(what, by, triggers, body.cause), dueOn))
      : [duty(TODAY.effect(triggers, body.cause), body.dueOn)];
  });
}
