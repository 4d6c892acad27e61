import { Code, Text } from '../kinds/fields.js';
import type { Event } from '../ledger/event.js';

export interface NewAccount {
  readonly person: string;
  readonly name: string;
  /** Day on which somebody looked at who this is (21 CFR 11.100(b)). */
  readonly identityCheckedOn: string | null;
}

/** The event that an account was made, by its link or by an administrator. */
export function accountMade({ person, name, identityCheckedOn }: NewAccount): Event {
  return { type: 'account-made', person: Code.parse(person), name: Text.parse(name), identityCheckedOn };
}
