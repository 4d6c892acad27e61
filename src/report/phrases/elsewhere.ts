/** Of signing in by a provider. */
export const ELSEWHERE = {
  done: 'You are signed in',
  goOn: 'Go on',
  notDone: 'You are not signed in',
  withPassword: 'Sign in with identifier and password',
  again: (name: string) => `Try ${name} once more`,
  none: 'no provider of sign-ins is named to this service',
  notThere: (name: string, why: string) =>
    `${name} cannot be asked now: ${why}. Identifier and password work all the same.`,
  refusedThere: (name: string, why: string) => `${name} did not let you in: ${why}.`,
  notTaken: (name: string, why: string) => `${name} did not stand by its answer: ${why}. Begin again.`,
  doesNotHold: (name: string, why: string) =>
    `What ${name} answered does not hold: ${why}. Nothing was done; tell whoever runs this service, when it happens again.`,
  begunElsewhere: 'This sign-in was not begun in this browser. Begin again.',
  tooLate: 'That took too long. Begin again.',
  used: 'This answer was used already. Begin again.',
  unknown: (issuer: string, subject: string) =>
    `No account here is linked with you. If you have an account, ask an administrator to link it with “${subject}” of ${issuer}.`,
  noPassword:
    'Your account has no password yet. Open your one-time link first: signatures need a password of your own.',
};
