/** What forms call their fields, and what stands beside these to help. */
export const FORM_LABELS = {
  things: 'What you sign',
  units: 'Units',
  entries: 'Entries',
  outcome: 'Decision',
  reason: 'Reason',
  issuer: 'Provider',
  issuerHint: 'The address by which it calls itself.',
  subject: 'What it calls the person',
  subjectHint: 'Exactly as the person was shown it when they tried to sign in there.',
  reasonHint: 'It stands in the audit trail for good.',
  whatFollows: 'What follows from it',
  password: 'Password',
  passwordAgain: 'Password, once more',
  passwordHint: (shortest: number) =>
    `At least ${shortest} characters. Several unrelated words do well; no kinds of characters are asked for. A password manager may fill it in.`,
  ownPassword: 'Your password',
  ownPasswordHint: 'It unlocks your key, which signs this act.',
  ownPasswordForLink: 'It unlocks your key, which vouches for the person who opens the link.',
  second: 'Second person',
  secondHint:
    'This person has a key already, and the link makes another one. Somebody else, who knows them too, vouches for that with their own key.',
  secondPassword: 'Password of the second person',
  oldPassword: 'Password as it is',
  newPassword: 'New password',
  newPasswordAgain: 'New password, once more',
  identifier: 'Identifier',
  identifierHint: 'The code of the person as documents and result sheets name it. It is never given to anybody else.',
  ownIdentifierHint:
    'A short code that nobody else ever gets, such as initials. Letters, digits, dot, dash, underscore.',
  name: 'Name',
  nameHint: 'As signatures print it.',
  ownNameHint: 'As it is printed.',
  identityCheckedOn: 'Identity checked on',
  identityCheckedHint: 'The day on which somebody looked at who this is, for instance at an identity card.',
  role: 'Role',
  inPlaceOf: 'In the place of',
  inRoleOf: 'In the role of',
  firstDay: 'First day',
  lastDay: 'Last day',
  deputy: 'Deputy',
  nothingToChoose: (label: string) => `There is nothing to choose for “${label}”.`,
};

/** What a form says where a field of this name was left empty. */
export const FORM_ASKS: Readonly<Record<string, string>> = {
  things: 'Tick at least one of the things that you sign.',
  units: 'Tick at least one implant.',
  outcome: 'Choose a decision.',
  reason: 'Say why, in a few words.',
  password: 'Type your password.',
};
