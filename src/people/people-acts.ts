import { z } from 'zod';
import { Role } from '../dossier/statement.js';
import { Code, Day, Text } from '../kinds/fields.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PERSON_ACT_WORDS, PERSON_CHOICES } from '../report/phrases/person-acts.js';
import { LONGEST_REASON, Reason } from '../web/fields.js';
import type { FormField } from '../web/form-field.js';
import type { Account, AccountsByPerson } from './account-state.js';
import { providerOffered } from './elsewhere/provider.js';
import { KnownPassword } from './password-fields.js';
import { deputyConflict } from './role-rules.js';

/** What the page of an act shows. What sending its form does is done by `Accounts`, whose rules hold. */
export interface PersonAct {
  /** Last part of the address. */
  readonly slug: string;
  readonly title: string;
  readonly lead: string;
  readonly button: string;
  readonly fields: (account: Account, accounts: AccountsByPerson, needsSecond: boolean) => FormField[];
}

const needed = Text.max(LONGEST_REASON, `at most ${LONGEST_REASON} characters`);
const optional = Reason.trim()
  .transform((text) => (text === '' ? undefined : text))
  .optional();

const reasonField = (required: boolean): FormField => ({
  name: 'reason',
  label: FORM_LABELS.reason,
  hint: FORM_LABELS.reasonHint,
  type: 'text',
  required,
});

const hasDeputies = (role: Role): boolean => deputyConflict(role) === undefined;

const roleOptions = (roles: readonly Role[]) => roles.map((role) => ({ value: role, label: role }));

/** Of whoever acts, and signs it with their key. */
const ownPasswordField = (hint: string = FORM_LABELS.ownPasswordHint): FormField => ({
  name: 'ownPassword',
  label: FORM_LABELS.ownPassword,
  hint,
  type: 'password',
  autocomplete: 'current-password',
  required: true,
});

const secondFields: readonly FormField[] = [
  { name: 'second', label: FORM_LABELS.second, hint: FORM_LABELS.secondHint, type: 'text', required: true },
  {
    name: 'secondPassword',
    label: FORM_LABELS.secondPassword,
    type: 'password',
    autocomplete: 'off',
    required: true,
  },
];

/** Every act is signed with the key that the password of its administrator opens. */
const OWN = { ownPassword: KnownPassword };

/** Somebody else and their password, both or neither. */
export const InviteForm = z.strictObject({
  reason: optional,
  ...OWN,
  second: Code.optional(),
  secondPassword: KnownPassword.optional(),
});
export type InviteForm = z.infer<typeof InviteForm>;

export const GiveRoleForm = z.strictObject({ role: Role, reason: optional, ...OWN });
export type GiveRoleForm = z.infer<typeof GiveRoleForm>;

export const TakeRoleForm = z.strictObject({ role: Role, reason: needed, ...OWN });
export type TakeRoleForm = z.infer<typeof TakeRoleForm>;

export const CloseForm = z.strictObject({ reason: needed, ...OWN });
export type CloseForm = z.infer<typeof CloseForm>;

export const NameDeputyForm = z.strictObject({
  deputyFor: Code,
  role: Role,
  from: Day,
  to: Day,
  reason: optional,
  ...OWN,
});
export type NameDeputyForm = z.infer<typeof NameDeputyForm>;

export const LinkElsewhereForm = z.strictObject({
  issuer: z.url({ protocol: /^https?$/, error: 'the address of the provider' }).max(400, 'at most 400 characters'),
  subject: Text.max(255, 'at most 255 characters'),
  reason: optional,
  ...OWN,
});
export type LinkElsewhereForm = z.infer<typeof LinkElsewhereForm>;

export const UnlinkElsewhereForm = z.strictObject({ reason: needed, ...OWN });
export type UnlinkElsewhereForm = z.infer<typeof UnlinkElsewhereForm>;

export const EndDeputyForm = z.strictObject({
  /** `TO:quality engineer`, as the choice of deputies offers it. */
  deputy: z
    .string()
    .refine((text) => Role.safeParse(text.split(':')[1]).success, 'one of the deputies listed')
    .transform((text) => ({ deputyFor: text.split(':')[0]!, role: Role.parse(text.split(':')[1]) })),
  reason: needed,
  ...OWN,
});
export type EndDeputyForm = z.infer<typeof EndDeputyForm>;

export const PERSON_ACTS: readonly PersonAct[] = [
  {
    slug: 'give-role',
    ...PERSON_ACT_WORDS['give-role'],
    fields: (account) => [
      {
        name: 'role',
        label: FORM_LABELS.role,
        type: 'text',
        required: true,
        options: roleOptions(Role.options.filter((role) => !account.roles.includes(role))),
      },
      reasonField(false),
      ownPasswordField(),
    ],
  },
  {
    slug: 'take-role',
    ...PERSON_ACT_WORDS['take-role'],
    fields: (account) => [
      { name: 'role', label: FORM_LABELS.role, type: 'text', required: true, options: roleOptions(account.roles) },
      reasonField(true),
      ownPasswordField(),
    ],
  },
  {
    slug: 'name-deputy',
    ...PERSON_ACT_WORDS['name-deputy'],
    fields: (account, accounts) => [
      {
        name: 'deputyFor',
        label: FORM_LABELS.inPlaceOf,
        type: 'text',
        required: true,
        options: [...accounts.values()]
          .filter(({ person, roles }) => person !== account.person && roles.some(hasDeputies))
          .map(({ person, name, roles }) => ({ value: person, label: PERSON_CHOICES.replaced(name, person, roles) })),
      },
      {
        name: 'role',
        label: FORM_LABELS.inRoleOf,
        type: 'text',
        required: true,
        options: roleOptions(Role.options.filter(hasDeputies)),
      },
      { name: 'from', label: FORM_LABELS.firstDay, type: 'date', required: true },
      { name: 'to', label: FORM_LABELS.lastDay, type: 'date', required: true },
      reasonField(false),
      ownPasswordField(),
    ],
  },
  {
    slug: 'end-deputy',
    ...PERSON_ACT_WORDS['end-deputy'],
    fields: (account) => [
      {
        name: 'deputy',
        label: FORM_LABELS.deputy,
        type: 'text',
        required: true,
        options: account.deputies.map(({ deputyFor, role, from, to }) => ({
          value: `${deputyFor}:${role}`,
          label: PERSON_CHOICES.deputy(role, deputyFor, from, to),
        })),
      },
      reasonField(true),
      ownPasswordField(),
    ],
  },
  {
    slug: 'link-elsewhere',
    ...PERSON_ACT_WORDS['link-elsewhere'],
    fields: () => [
      {
        ...{ name: 'issuer', label: FORM_LABELS.issuer, hint: FORM_LABELS.issuerHint, type: 'text', required: true },
        value: providerOffered()?.issuer ?? '',
      },
      { name: 'subject', label: FORM_LABELS.subject, hint: FORM_LABELS.subjectHint, type: 'text', required: true },
      reasonField(false),
      ownPasswordField(),
    ],
  },
  {
    slug: 'unlink-elsewhere',
    ...PERSON_ACT_WORDS['unlink-elsewhere'],
    fields: () => [reasonField(true), ownPasswordField()],
  },
  {
    slug: 'link',
    ...PERSON_ACT_WORDS.link,
    fields: (_account, _accounts, needsSecond) => [
      reasonField(false),
      ownPasswordField(FORM_LABELS.ownPasswordForLink),
      ...(needsSecond ? secondFields : []),
    ],
  },
  {
    slug: 'close',
    ...PERSON_ACT_WORDS.close,
    fields: () => [reasonField(true), ownPasswordField()],
  },
];

/** The one act that begins without an account. */
export const NewAccountForm = z.strictObject({
  person: Code,
  name: Text.max(200, 'at most 200 characters'),
  identityCheckedOn: Day,
  ...OWN,
});
export type NewAccountForm = z.infer<typeof NewAccountForm>;

export const newAccountFields = (value: { person: string; name: string; identityCheckedOn: string }): FormField[] => [
  {
    name: 'person',
    label: FORM_LABELS.identifier,
    hint: FORM_LABELS.identifierHint,
    type: 'text',
    value: value.person,
    required: true,
  },
  {
    name: 'name',
    label: FORM_LABELS.name,
    hint: FORM_LABELS.nameHint,
    type: 'text',
    value: value.name,
    required: true,
  },
  {
    name: 'identityCheckedOn',
    label: FORM_LABELS.identityCheckedOn,
    hint: FORM_LABELS.identityCheckedHint,
    type: 'date',
    value: value.identityCheckedOn,
    required: true,
  },
  ownPasswordField(FORM_LABELS.ownPasswordForLink),
];
