import { z } from 'zod';
import { Role } from '../dossier/statement.js';
import { Code, Day, Text } from '../kinds/fields.js';
import { LONGEST_REASON, Reason } from '../web/fields.js';
import type { FormField } from '../web/form-field.js';
import type { Account, AccountsByPerson } from './account-state.js';
import { deputyConflict } from './role-rules.js';

/** What the page of an act shows. What sending its form does is done by `Accounts`, whose rules hold. */
export interface PersonAct {
  /** Last part of the address. */
  readonly slug: string;
  readonly title: string;
  readonly lead: string;
  readonly button: string;
  readonly fields: (account: Account, accounts: AccountsByPerson) => FormField[];
}

const needed = Text.max(LONGEST_REASON, `at most ${LONGEST_REASON} characters`);
const optional = Reason.trim()
  .transform((text) => (text === '' ? undefined : text))
  .optional();

const reasonField = (required: boolean): FormField => ({
  name: 'reason',
  label: 'Reason',
  hint: 'It stands in the audit trail for good.',
  type: 'text',
  required,
});

const hasDeputies = (role: Role): boolean => deputyConflict(role) === undefined;

const roleOptions = (roles: readonly Role[]) => roles.map((role) => ({ value: role, label: role }));

export const InviteForm = z.strictObject({ reason: optional });
export type InviteForm = z.infer<typeof InviteForm>;

export const GiveRoleForm = z.strictObject({ role: Role, reason: optional });
export type GiveRoleForm = z.infer<typeof GiveRoleForm>;

export const TakeRoleForm = z.strictObject({ role: Role, reason: needed });
export type TakeRoleForm = z.infer<typeof TakeRoleForm>;

export const CloseForm = z.strictObject({ reason: needed });
export type CloseForm = z.infer<typeof CloseForm>;

export const NameDeputyForm = z.strictObject({ deputyFor: Code, role: Role, from: Day, to: Day, reason: optional });
export type NameDeputyForm = z.infer<typeof NameDeputyForm>;

export const EndDeputyForm = z.strictObject({
  /** `TO:quality engineer`, as the choice of deputies offers it. */
  deputy: z
    .string()
    .refine((text) => Role.safeParse(text.split(':')[1]).success, 'one of the deputies listed')
    .transform((text) => ({ deputyFor: text.split(':')[0]!, role: Role.parse(text.split(':')[1]) })),
  reason: needed,
});
export type EndDeputyForm = z.infer<typeof EndDeputyForm>;

export const PERSON_ACTS: readonly PersonAct[] = [
  {
    slug: 'give-role',
    title: 'Give a role',
    lead: 'From this moment on. An administrator gives no quality approval, and an auditor has no other role.',
    button: 'Give the role',
    fields: (account) => [
      {
        name: 'role',
        label: 'Role',
        type: 'text',
        required: true,
        options: roleOptions(Role.options.filter((role) => !account.roles.includes(role))),
      },
      reasonField(false),
    ],
  },
  {
    slug: 'take-role',
    title: 'Take a role away',
    lead: 'From this moment on. What the person signed in the role stays signed.',
    button: 'Take the role away',
    fields: (account) => [
      { name: 'role', label: 'Role', type: 'text', required: true, options: roleOptions(account.roles) },
      reasonField(true),
    ],
  },
  {
    slug: 'name-deputy',
    title: 'Name as deputy',
    lead: 'This person acts in the role of another one, between two days and only while the other one holds the role. Signatures say in whose place.',
    button: 'Name as deputy',
    fields: (account, accounts) => [
      {
        name: 'deputyFor',
        label: 'In the place of',
        type: 'text',
        required: true,
        options: [...accounts.values()]
          .filter(({ person, roles }) => person !== account.person && roles.some(hasDeputies))
          .map(({ person, name, roles }) => ({ value: person, label: `${name} (${person}): ${roles.join(', ')}` })),
      },
      {
        name: 'role',
        label: 'In the role of',
        type: 'text',
        required: true,
        options: roleOptions(Role.options.filter(hasDeputies)),
      },
      { name: 'from', label: 'First day', type: 'date', required: true },
      { name: 'to', label: 'Last day', type: 'date', required: true },
      reasonField(false),
    ],
  },
  {
    slug: 'end-deputy',
    title: 'End as deputy',
    lead: 'From this moment on, before the last day that was named.',
    button: 'End as deputy',
    fields: (account) => [
      {
        name: 'deputy',
        label: 'Deputy',
        type: 'text',
        required: true,
        options: account.deputies.map(({ deputyFor, role, from, to }) => ({
          value: `${deputyFor}:${role}`,
          label: `${role} for ${deputyFor}, ${from} to ${to}`,
        })),
      },
      reasonField(true),
    ],
  },
  {
    slug: 'link',
    title: 'Make a one-time link',
    lead: 'For a password that is not set yet, was lost, or is locked. The person opens the link and chooses a password; the old one counts until then. Hand the link to nobody else: whoever opens it can sign in the name of this person, and the history below their name shows that it was used.',
    button: 'Make the link',
    fields: () => [reasonField(false)],
  },
  {
    slug: 'close',
    title: 'Close the account',
    lead: 'For good: roles, deputies, links and sessions end now. Signatures stay, and the identifier is never given to anybody else.',
    button: 'Close the account for good',
    fields: () => [reasonField(true)],
  },
];

/** The one act that begins without an account. */
export const NewAccountForm = z.strictObject({
  person: Code,
  name: Text.max(200, 'at most 200 characters'),
  identityCheckedOn: Day,
});
export type NewAccountForm = z.infer<typeof NewAccountForm>;

export const newAccountFields = (value: { person: string; name: string; identityCheckedOn: string }): FormField[] => [
  {
    name: 'person',
    label: 'Identifier',
    hint: 'The code of the person as documents and result sheets name it. It is never given to anybody else.',
    type: 'text',
    value: value.person,
    required: true,
  },
  { name: 'name', label: 'Name', hint: 'As signatures print it.', type: 'text', value: value.name, required: true },
  {
    name: 'identityCheckedOn',
    label: 'Identity checked on',
    hint: 'The day on which somebody looked at who this is, for instance at an identity card.',
    type: 'date',
    value: value.identityCheckedOn,
    required: true,
  },
];
