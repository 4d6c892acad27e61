import { lineName } from '../design-history/change-touches.js';
import { TOUCHED_SORTS, type TouchedLine } from '../kinds/design-history/design-change.js';
import { designEntryAddress, findAddress, lotAddress, trendAddress } from '../report/page-addresses.js';
import { CHANGE_FORM, TOUCHED_SORT_WORDS } from '../report/phrases/design-changes.js';
import { entryText } from '../report/phrases/kinds.js';
import type { ChangeShown, LineAnswer } from './change-lists.js';

/** So many lines are answered in one form; the others follow. */
export const LINES_AT_ONCE = 40;

/**
 * What the page of a change shows.
 * @param typed answers that came to nothing, and go back into the form, each below its own line. `dropped` has those whose
 *   line has an answer by now, or left the list.
 */
export function changeView({ found, standing, came }: ChangeShown, typed: readonly LineAnswer[]) {
  const { body, revision, approvedBy } = found;
  const { family, change, title, what, why, risksAgain, changes, leadsTo = [], touches, decision } = body;
  const row = (line: TouchedLine) => lineRow(family, line);
  const bySort = (lines: readonly TouchedLine[]) =>
    TOUCHED_SORTS.map((sort) => ({
      head: TOUCHED_SORT_WORDS[sort],
      lines: lines.filter((line) => line.sort === sort).map(row),
    })).filter(({ lines }) => lines.length > 0);
  const open = (touches?.lines ?? []).filter(({ answer }) => answer === undefined);
  const named = (refs: typeof changes) =>
    refs.map((ref) => ({
      text: entryText(ref.kind, ref.key, ref.revision),
      href: designEntryAddress(family, ref),
    }));
  const asked = open.slice(0, LINES_AT_ONCE).map((line) => ({ ...row(line), name: lineName(line) }));
  const given = typed.filter(({ answer }) => answer.trim() !== '');
  return {
    ...{ family, change, title, what, why, risksAgain, revision, decision, approvedBy, state: standing.state },
    says: CHANGE_FORM.says(standing, standing.state, came.length > 0),
    document: findAddress(change),
    ties: designEntryAddress(family, { kind: 'design-change', key: change }),
    changes: named(changes),
    leadsTo: named(leadsTo),
    asOf: touches?.asOf.entries ?? null,
    sha256: touches?.sha256 ?? null,
    groups: bySort(touches?.lines ?? []),
    open: asked.map((line) => ({
      ...line,
      label: CHANGE_FORM.answerTo(line.text),
      typed: given.find((one) => one.line === line.name)?.answer ?? '',
    })),
    dropped: given.filter((one) => asked.every(({ name }) => name !== one.line)),
    shown: asked.length < open.length ? CHANGE_FORM.shown(asked.length, open.length) : null,
    came: bySort(came),
    mayList: decision === 'open' || touches === undefined,
    mayDecide: decision === 'open',
    mayGo: standing.state === 'to be decided' && came.length === 0,
  };
}

/** A line names a lot by its code, a document by kind and code, a statement by family and characteristic. */
function lineRow(family: string, { sort, key, says, answer }: TouchedLine) {
  const row = { says, answer: answer ?? null };
  if (sort === 'to be told') return { ...row, text: key, href: null };
  if (sort === 'lot') return { ...row, text: entryText('lot', key, null), href: lotAddress(key) };
  if (sort === 'statement') {
    const characteristic = key.slice(family.length + 1);
    return { ...row, text: characteristic, href: trendAddress(family, characteristic) };
  }
  const [kind, ...rest] = key.split(' ');
  const ref = { kind: kind!, key: rest.join(' ') };
  return { ...row, text: entryText(ref.kind, ref.key, null), href: designEntryAddress(family, ref) };
}
