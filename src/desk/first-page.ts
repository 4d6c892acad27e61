import { timeText } from '../dossier/time-text.js';
import type { Event, RecordedEvent } from '../ledger/event.js';
import type { LotLine } from '../lots/lot-overview.js';
import { ACCOUNTS } from '../report/phrases/accounts.js';
import { awaitingText, EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { signedAsText } from '../report/phrases/release-steps.js';
import { THINGS } from '../report/phrases/things.js';
import { signAddresses } from '../signing/sign-address.js';
import type { Waiting } from '../signing/waiting-list.js';

/** What one person signs in one go: findings of one kind are decided together. */
interface WaitingLine {
  readonly title: string;
  readonly act: string;
  readonly signsAs: string;
  readonly lot: string | null;
  readonly neededBy: string | null;
  readonly href: string;
  readonly who: string;
}

export function waitingView(all: readonly Waiting[], person: string) {
  const mine = all.filter(({ who }) => who.includes(person));
  return {
    mine: linesOf(mine),
    others: linesOf(all.filter(({ who }) => !who.includes(person) && who.length > 0)),
    nobody: linesOf(all.filter(({ who }) => who.length === 0)),
  };
}

function linesOf(items: readonly Waiting[]): WaitingLine[] {
  const groups = new Map<string, Waiting[]>();
  for (const item of items) {
    const key =
      item.group === null
        ? `${item.thing}${item.meaning} ${item.step}`
        : `${item.group} ${item.meaning} ${item.who.join()}`;
    groups.set(key, [...(groups.get(key) ?? []), item]);
  }
  return [...groups.values()].flatMap((group) => {
    const { act, meaning, step, lot, neededBy, who } = group[0]!;
    const titles = new Map(group.map((item) => [item.thing, item.title]));
    return signAddresses([...titles.keys()], meaning).map(({ things, href }) => ({
      title: things.length === 1 ? titles.get(things[0]!)! : THINGS.alike(titles.get(things[0]!)!, things.length),
      act,
      signsAs: signedAsText({ meaning, step }),
      lot,
      neededBy,
      href: step === null ? href : `${href}&step=${step}`,
      who: who.join(', '),
    }));
  });
}

export function lotsView(lines: readonly LotLine[]) {
  const open = lines.filter((line) => !line.closed);
  return {
    total: lines.length,
    awaiting: awaitingText(lines.filter((line) => line.ofEarlierVersion).length),
    earlierVersion: EARLIER_VERSION,
    open,
    ...changedView(lines),
    closed: lines.filter((line) => line.closed),
    held: lines.flatMap((line) =>
      line.units.flatMap(({ serial, hold }) => (hold === null ? [] : [{ lot: line.lot, serial, reason: hold }])),
    ),
  };
}

/** So long everybody is told of a link that was made at the machine. */
const RECOVERED_MS = 30 * 24 * 3_600_000;

/** Links for administrators that were made at the machine a short time ago, in words. */
export const recoveredSince = (events: readonly RecordedEvent[], now: Date): string[] =>
  events.flatMap(({ event, at, actor, reason }) =>
    event.type === 'invitation-made' && event.atMachine && now.getTime() - Date.parse(at) < RECOVERED_MS
      ? [ACCOUNTS.recovered(event.person, actor, at, reason ?? '')]
      : [],
  );

/** Lots told one by one; an upgrade may change the verdicts of all there are. */
const MOST_CHANGED = 30;

function changedView(lines: readonly LotLine[]) {
  const changed = lines.filter(({ changedVerdicts }) => changedVerdicts.length > 0);
  return {
    changed: changed.slice(0, MOST_CHANGED).map(({ lot, units, changedVerdicts }) => ({
      lot,
      says: changedVerdicts.map(({ says }) => says).join(' '),
      released: units
        .filter(
          ({ serial, decision }) => decision === 'released' && changedVerdicts.some((one) => one.serial === serial),
        )
        .map(({ serial }) => serial),
    })),
    moreChanged: Math.max(0, changed.length - MOST_CHANGED),
  };
}

/** When something was last done, in words; null when never. */
export function lastOf<T extends Event['type']>(events: readonly RecordedEvent[], type: T) {
  const last = events.findLast(({ event }) => event.type === type);
  return last ? { at: timeText(last.at), event: last.event as Extract<Event, { type: T }> } : null;
}
