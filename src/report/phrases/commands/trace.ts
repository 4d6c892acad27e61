/** What the command that follows ties prints around the facts. */
export const TRACE_LINES = {
  thing: (title: string, key: string, name: string, revision: string) => `${title} ${key} (${name}), ${revision}`,
  revision: (revision: number) => `revision ${revision}`,
  noDocument: 'an account without a document',
  asOf: ({ size, root }: { readonly size: number; readonly root: string }) =>
    `Data as of entry ${size} of the audit trail, root ${root}`,
  written: (file: string, sha256: string) => `Sealed answer written to ${file}, SHA-256 ${sha256}`,
  units: (balance: string) => `Implants: ${balance}`,
  cannotKnow: 'This search cannot know:',
  file: (id: string) => `trace-${id.replace(/[^A-Za-z0-9._-]/g, '-')}.csv`,
  back: 'Came from',
  forward: 'Went into',
  metal: 'Metal',
  people: 'People',
  instruments: 'Instruments',
  results: 'Results',
  parts: {
    units: 'where its implants are',
    ...{ back: 'what it came from', forward: 'what it went into' },
    ...{ signed: 'what was signed', entered: 'what was taken in' },
    ...{ metal: 'its metal', people: 'its people', instruments: 'its instruments', results: 'its results' },
  },
  things: (direction: string, count: number) =>
    `${direction}: ${count === 0 ? 'nothing on record' : `${count} things`}`,
  earlier: 'Tied to by earlier revisions, and not any more:',
  signed: (count: number) => `Signed: ${count === 0 ? 'nothing' : `${count} statements, the latest first`}`,
  takenIn: (count: number) => `Taken in: ${count === 0 ? 'nothing' : `${count} revisions, the latest first`}`,
  candidates: (asked: string, count: number) =>
    `"${asked}" names ${count} things, too many to trace at once; trace one by its own key:`,
  several: (asked: string, count: number) => `"${asked}" names ${count} things; all are shown.`,
};

/** What is said of an earlier answer that a later one is compared with. */
export const EARLIER_ANSWER = {
  expected: 'an answer of a trace to the same question, as sealed PDF or as JSON',
  noAnswer: 'which is none',
  notRead: 'which cannot be read',
  takeOne: 'name a file that trace --pdf or trace --format json wrote',
  asked: (id: string) => `which answers for ${id}`,
  askIt: 'ask for the same',
  otherTrail: (then: number, now: number) =>
    `the audit trail of now (${now} entries) does not begin with that of the answer (${then} entries): the answer is of another folder, or one of the two was altered`,
  grew: (then: number, now: number) =>
    `Compared with the answer as of entry ${then}: the audit trail only grew since, by ${now - then} entries`,
  same: 'Both say the same.',
  change: {
    match: 'bears the identifier',
    itself: 'revision',
    balance: 'count',
    implant: 'where and with whom',
    back: 'came from',
    forward: 'went into',
    signed: 'signed',
    entered: 'taken in',
  },
  before: (said: string | null) => (said === null ? 'not in the earlier answer' : said),
  now: (said: string | null) => (said === null ? 'not any more' : said),
} as const;
