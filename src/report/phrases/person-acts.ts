interface ActWords {
  readonly title: string;
  readonly lead: string;
  readonly button: string;
}

const NAME_DEPUTY = 'Name as deputy';
const END_DEPUTY = 'End as deputy';
const MAKE_ACCOUNT = 'Make an account';

/** Words of each act of an administrator on an account, by the last part of its address. */
export const PERSON_ACT_WORDS = {
  'give-role': {
    title: 'Give a role',
    lead: 'From this moment on. An administrator gives no quality approval, and an auditor has no other role.',
    button: 'Give the role',
  },
  'take-role': {
    title: 'Take a role away',
    lead: 'From this moment on. What the person signed in the role stays signed.',
    button: 'Take the role away',
  },
  'name-deputy': {
    title: NAME_DEPUTY,
    lead: 'This person acts in the role of another one, between two days and only while the other one holds the role. Signatures say in whose place.',
    button: NAME_DEPUTY,
  },
  'end-deputy': {
    title: END_DEPUTY,
    lead: 'From this moment on, before the last day that was named.',
    button: END_DEPUTY,
  },
  'link-elsewhere': {
    title: 'Link a sign-in elsewhere',
    lead: 'The person then gets in by the provider too. It opens pages alone: each act and each signature asks for their own password as before. Whom the provider means is said to them when they try to sign in there: ask them for it, face to face or by a telephone number that you knew before.',
    button: 'Link it',
  },
  'unlink-elsewhere': {
    title: 'End a sign-in elsewhere',
    lead: 'From this moment on; sessions of the person end. Their password counts as before.',
    button: 'End it',
  },
  link: {
    title: 'Make a one-time link',
    lead: 'For a password that is not set yet, or was lost. The person opens the link, chooses a password and gets a key of their own; the old password counts until then. Whoever had a key before gets another, for which two people vouch, and everything signed with it says so. Hand the link to nobody else: whoever opens it can sign in the name of this person, and the history below their name shows that it was used.',
    button: 'Make the link',
  },
  close: {
    title: 'Close the account',
    lead: 'For good: roles, deputies, links and sessions end now. Signatures stay, and the identifier is never given to anybody else.',
    button: 'Close the account for good',
  },
  /** The one act that begins without an account. */
  'new/account': {
    title: MAKE_ACCOUNT,
    lead: 'Without roles at first. You get a one-time link to hand to the person, who chooses a password that you never see.',
    button: 'Make the account',
  },
} satisfies Record<string, ActWords>;

/** What is offered to choose from in their forms. */
export const PERSON_CHOICES = {
  replaced: (name: string, person: string, roles: readonly string[]) => `${name} (${person}): ${roles.join(', ')}`,
  deputy: (role: string, deputyFor: string, from: string, to: string) => `${role} for ${deputyFor}, ${from} to ${to}`,
};
