import { expiryOf } from '../../assessment/expiry.js';
import { ACCEPTED_STEPS, acceptanceOf, type Load, loadsInOrder, partsIn } from '../../assessment/loads.js';
import { isLogged, staysIn } from '../../assessment/place-stays.js';
import type { Facts } from '../../dossier/facts.js';
import { spanText, timeText } from '../../dossier/time-text.js';
import { spacedUnit, tradeUnit } from '../../dossier/unit-text.js';
import type { LotStep } from '../../kinds/lot-after-build.js';
import type { Recipe } from '../../kinds/recipe.js';
import type { RecordPage } from '../../pdf/page.js';
import { entryText } from '../../report/phrases/kinds.js';
import { EXPIRY_BOUNDS, POST_PROCESS } from '../../report/phrases/record-post-process.js';
import { stepText } from '../../report/phrases/trade-codes.js';
import { type RecordView, tellsOf } from '../record-view.js';

export const settingsText = ({ parameters }: Recipe['zones'][number]['steps'][number]): string =>
  parameters.map((item) => `${item.parameter} ${item.set}${spacedUnit(item.ucum)}`).join('; ');

/** Steps after the build, up to the sterile pack. */
export function drawPostProcess(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  pdf.table({
    caption: POST_PROCESS.steps,
    columns: [
      { head: POST_PROCESS.step, width: 1.6 },
      { head: POST_PROCESS.when, width: 2.6 },
      { head: POST_PROCESS.by, width: 3 },
      { head: POST_PROCESS.load, width: 1.8 },
      { head: POST_PROCESS.parts, width: 3 },
      { head: POST_PROCESS.note, width: 3.6 },
    ],
    rows: facts.lot.body.steps
      .filter(({ parts }) => parts === undefined || parts.some(isTold))
      .map((step) => [
        stepText(step.step),
        timeText(step.at),
        personText(facts, step.by),
        step.load ?? POST_PROCESS.noneNamed,
        step.parts?.filter(isTold).join(', ') ?? POST_PROCESS.wholeLot,
        noteText(step) || POST_PROCESS.none,
      ]),
    empty: POST_PROCESS.noStep,
  });
  drawLoads(pdf, view);
  drawPlaces(pdf, view);
  const expiries = new Map<string, string[]>();
  for (const implant of facts.lot.body.implants.filter(({ serial }) => isTold(serial))) {
    const expiry = expiryOf(facts, implant);
    if (!expiry) continue;
    const says = POST_PROCESS.expires(expiry.day, EXPIRY_BOUNDS[expiry.bound]);
    expiries.set(says, [...(expiries.get(says) ?? []), implant.serial]);
  }
  const expiryText = [...expiries].map(([says, serials]) => POST_PROCESS.expiryOf(serials, says)).join('; ');
  pdf.facts(
    [
      [POST_PROCESS.delivered, POST_PROCESS.sterileState[facts.family.body.sterile]],
      [POST_PROCESS.expiry, expiryText || POST_PROCESS.noExpiry],
    ],
    { small: true },
  );
}

/** What ran together, of whatever lots: parts of other lots are counted, since their cases are none of this one's. */
function drawLoads(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  const loads = loadsInOrder(facts);
  if (loads.length === 0) {
    pdf.paragraph(POST_PROCESS.noLoad);
    return;
  }
  pdf.table({
    caption: POST_PROCESS.loads,
    columns: [
      { head: POST_PROCESS.load, width: 2 },
      { head: POST_PROCESS.when, width: 3 },
      { head: POST_PROCESS.by, width: 2.8 },
      { head: POST_PROCESS.cycle, width: 3.4 },
      { head: POST_PROCESS.indicators, width: 3.4 },
      { head: POST_PROCESS.parts, width: 2.6 },
      { head: POST_PROCESS.accepted, width: 2.8 },
    ],
    rows: loads.map((load) => {
      const { body } = load;
      const own = partsIn(facts, load);
      const others = (body.implants?.length ?? 0) + (body.coupons?.length ?? 0) - own.length;
      return [
        `${body.load}, ${stepText(body.step)}`,
        body.startedAt === undefined ? timeText(body.at) : spanText(body.startedAt, body.at),
        `${personText(facts, body.by)}, ${body.equipment ?? body.contractor}`,
        body.cycle.map((item) => POST_PROCESS.cycleValue({ ...item, unit: tradeUnit(item.ucum) })).join('; '),
        (body.indicators ?? [])
          .map(({ what, result }) => `${what}: ${POST_PROCESS.indicatorSays[result]}`)
          .join('; ') || POST_PROCESS.none,
        POST_PROCESS.partsOf(isWhole(facts, own) ? null : own.filter(isTold), others),
        acceptedBy(facts, load),
      ];
    }),
  });
}

/** Whether it held every part of the lot that may be told of: then they are not named again. */
const isWhole = ({ lot: { body }, withheldCases }: Facts, own: readonly string[]): boolean =>
  withheldCases.length === 0 &&
  [...body.implants.map(({ serial }) => serial), ...body.coupons.map(({ coupon }) => coupon)].every((part) =>
    own.includes(part),
  );

/** Where parts and powder lay between steps; what the logs say against it stands with the checks. */
function drawPlaces(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  const rows = [...facts.places.values()].flatMap((place) => {
    const { title, windows } = place.body;
    const kept = windows.map(({ channel }) => channel).join(', ');
    return staysIn(facts, place)
      .filter(({ kind, key }) => kind !== 'implant' || isTold(key))
      .map((stay) => [
        `${title} (${stay.place})`,
        entryText(stay.kind, stay.key, null),
        spanText(momentOf(stay.from), momentOf(stay.to)),
        isLogged(facts, place, stay) ? kept : POST_PROCESS.notLogged,
      ]);
  });
  if (rows.length === 0) return;
  // What lay there together stands in one row.
  const together = new Map<string, { cells: readonly string[]; held: string[] }>();
  for (const [place, held, when, logged] of rows as [string, string, string, string][]) {
    const known = together.get(`${place} ${when} ${logged}`) ?? { cells: [place, when, logged], held: [] };
    together.set(`${place} ${when} ${logged}`, known);
    known.held.push(held);
  }
  pdf.table({
    caption: POST_PROCESS.places,
    columns: [
      { head: POST_PROCESS.place, width: 3 },
      { head: POST_PROCESS.when, width: 3.4 },
      { head: POST_PROCESS.logged, width: 2 },
      { head: POST_PROCESS.held, width: 5 },
    ],
    rows: [...together.values()].map(({ cells, held }) => [...cells, held.join(', ')]),
  });
}

const momentOf = (at: number): string => new Date(at).toISOString();

function acceptedBy(facts: Facts, load: Load): string {
  if (!ACCEPTED_STEPS.has(load.body.step)) return POST_PROCESS.notAsked;
  const found = acceptanceOf(facts, load);
  return found ? `${personText(facts, found.person.code)}, ${timeText(found.at)}` : POST_PROCESS.notAccepted;
}

/** What was noted of a step, and by which instruction it was done again. */
const noteText = ({ note, instruction }: LotStep): string =>
  [...(instruction ? [POST_PROCESS.reworkBy(instruction.instruction, instruction.revision)] : []), note ?? '']
    .filter(Boolean)
    .join('; ');

export function personText(facts: Facts, code: string): string {
  const known = facts.people.get(code)?.body.name;
  return known === undefined ? code : `${known} (${code})`;
}
