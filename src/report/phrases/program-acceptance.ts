/** Whether the cell has accepted the program that runs. */
export const ACCEPTANCE = {
  none: 'this build is not accepted yet: take a program-version document in and sign it',
  notAccepted: 'the cell has looked at this build and not accepted it',
  limits: (limits: string) => `, with limits: ${limits}`,
  signed: (conclusion: string, name: string, day: string, limits: string) =>
    `${conclusion} by ${name} on ${day}${limits}`,
  elsewhere: (by: string, at: string, limits: string) => `approved elsewhere by ${by} on ${at}${limits}`,
  notSigned: (conclusion: string) => `${conclusion}, but nobody has signed it`,
};
