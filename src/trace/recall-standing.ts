import { timeText } from '../dossier/time-text.js';
import type { Recall } from '../kinds/after-release/recall.js';
import { placesOfImplants } from '../lots/unit-places.js';
import { placeStateText, placeText } from '../report/phrases/places.js';
import { reconciledText, timeUsedText } from '../report/phrases/recall.js';
import { revisionsSigned } from '../signing/document-standing.js';
import type { Store } from '../store/store.js';
import type { RecallStanding } from './carried-answer.js';

/** How a recall or a drill stands: what was expected, what was found where, how long it took, who signed. */
export async function recallStanding(store: Store, code: string): Promise<RecallStanding> {
  const { body, revision } = await store.read.entries.currentOrThrow('recall', code);
  const placed = new Map((await placesOfImplants(store.read, body.expected)).map((unit) => [unit.key, unit]));
  const found = new Map((body.found ?? []).map((one) => [one.implant, one]));
  const [latest] = await revisionsSigned(store, 'recall', code);
  return {
    ...{ recall: code, revision, trigger: body.trigger, query: body.query, reason: body.reason ?? '' },
    ...{ drill: body.drill === 'yes', closed: body.closed !== undefined, lessons: body.lessons ?? '' },
    askedAsOf: { size: body.asOf.entries, root: body.asOf.root },
    ...recallProgress(store, body),
    units: body.expected.map((serial) => {
      const unit = placed.get(serial);
      const one = found.get(serial);
      return {
        ...{ serial, lot: unit?.lot ?? '', holder: unit?.holder?.institution ?? '' },
        where: unit ? placeStateText(unit) : '',
        found: one ? placeText(one.place) : '',
        at: one ? timeText(one.at) : '',
        differs: one !== undefined && unit !== undefined && one.place !== unit.place,
      };
    }),
    notices: (body.notices ?? []).map(({ to, at }) => ({ to, at: timeText(at) })),
    clocks: (body.clocks ?? []).map(({ law, due, reported }) => ({
      ...{ law, due: timeText(due), reported: reported === undefined ? '' : timeText(reported) },
    })),
    signed: [...(latest?.signatures ?? [])],
  };
}

/** Time used against the aim, and how many units were found; in words. */
export function recallProgress(store: Store, body: Recall): Pick<RecallStanding, 'time' | 'reconciled'> {
  const found = new Set((body.found ?? []).map(({ implant }) => implant));
  const until = body.closed ?? store.clock.now().toISOString();
  return {
    time: timeUsedText(body.started, until, body.aimHours, body.closed !== undefined),
    reconciled: reconciledText(body.expected.filter((serial) => found.has(serial)).length, body.expected.length),
  };
}
