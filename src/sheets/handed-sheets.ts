import { stamp } from '../base/clock.js';
import { localDay } from '../base/stamp.js';
import type { TypedFields } from '../entry/typed-fields.js';
import { whyNotTakeIn } from '../intake/may-take-in.js';
import { type AccountsByPerson, actingRoles } from '../people/account-state.js';
import { HANDED_SHEET } from '../store/draft-rows.js';
import type { Reads } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import { LOT, METHOD } from './sheet-fields.js';

/** A sheet that was handed over: nobody changes it, until a second person typed it too. */
export interface HandedSheet {
  readonly name: string;
  readonly person: string;
  readonly at: string;
  readonly lot: string;
  readonly method: string;
  readonly fields: TypedFields;
}

/** Sheets that wait for a second person, of a lot or of all, the one that has waited longest first. */
export async function handedSheets(read: Pick<Reads, 'drafts'>, lot?: string): Promise<HandedSheet[]> {
  const rows = await read.drafts.ofKind(HANDED_SHEET);
  return rows
    .map(({ name, person, changedAt: at, fields: text }) => {
      const fields = JSON.parse(text) as TypedFields;
      return { name, person, at, lot: fields[LOT]!, method: fields[METHOD]!, fields };
    })
    .filter((sheet) => lot === undefined || sheet.lot === lot);
}

/** How many values were typed into it. */
export const valuesIn = ({ fields }: HandedSheet): number =>
  Object.entries(fields).filter(([field, value]) => field.startsWith('value:') && value !== '').length;

/** `TM-T rev 2`. */
export const methodOf = ({ method }: Pick<HandedSheet, 'method'>): string => method.replace(':', ' rev ');

/** A sheet that waits, and who may type it again today. */
export interface WaitingSheet {
  readonly lot: string;
  readonly method: string;
  readonly values: number;
  readonly typedBy: string;
  readonly at: string;
  readonly who: readonly string[];
}

/** @param people all accounts, by person. */
export async function waitingSheets(store: Store, people: AccountsByPerson): Promise<WaitingSheet[]> {
  const day = localDay(stamp(store.clock));
  const may = [...people.values()]
    .filter(({ person, closedAt }) => closedAt === null && mayType(people, person, day))
    .map(({ person }) => person);
  return (await handedSheets(store.read)).map((sheet) => ({
    lot: sheet.lot,
    method: methodOf(sheet),
    values: valuesIn(sheet),
    typedBy: sheet.person,
    at: sheet.at,
    who: may.filter((person) => person !== sheet.person),
  }));
}

const mayType = (people: AccountsByPerson, person: string, day: string): boolean =>
  whyNotTakeIn({ person, acting: actingRoles(people, person, day) }) === undefined;
